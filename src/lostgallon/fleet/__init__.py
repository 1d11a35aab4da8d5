"""Many vehicles at once: from fill-ups in columns to a ranked list with a stated rate of false discoveries."""
