"""A shop that learns: sealed visits with proof become better priors, shrunk to the expert's where visits are few."""
