"""The shop's own pages: one visit, in the order of the work."""
