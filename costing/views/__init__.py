"""The pages of costing."""
