"""The inventory pages, by noun."""
