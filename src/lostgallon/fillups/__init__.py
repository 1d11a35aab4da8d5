"""Is the loss real: the measurement model of tanks, step, season, proof after the work."""
