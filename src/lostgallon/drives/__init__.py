"""What a recorded drive says: trims, warm-up, lock-up, coast-down, fuel used."""
