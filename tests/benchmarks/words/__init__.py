"""Jobs in plain words: every symptom of the table on dampers of several kinds."""
