"""What each page shows, as frozen records: every sum is done here or before, none in a template."""
