"""Readable files: catalogue, coefficients, headings, units; each with a source column."""
