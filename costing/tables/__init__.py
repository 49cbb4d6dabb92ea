"""The lists of the costing pages."""
