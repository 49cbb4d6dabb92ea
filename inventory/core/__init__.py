"""The pure arithmetic of the inventory: no Django, no clock, no database."""
