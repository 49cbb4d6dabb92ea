"""Lists that a shop brings in and takes out: their columns, what a list would change, and how it is written."""
