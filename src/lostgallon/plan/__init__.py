"""Which check next, what to correct now, what fits before the promised time."""
