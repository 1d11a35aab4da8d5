"""Speed and memory, measured: ratios within one run, JSON output. Never a timed test."""
