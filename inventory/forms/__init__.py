"""The forms of the inventory pages."""
