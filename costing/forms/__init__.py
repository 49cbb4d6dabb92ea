"""The forms of the costing pages."""
