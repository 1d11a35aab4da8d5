"""The trade's words: frozen records, units, troubles. Imports nothing of ours."""
