"""The bridge picture, the owner's letter, the technician's sheet."""
