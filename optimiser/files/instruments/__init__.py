"""CSV as dynos and loggers write it: cells, header words, units, and columns that are named once."""
