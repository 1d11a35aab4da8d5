"""The shop's data: append-only entries, photos by content hash, seals, backup. Imports shop only."""
