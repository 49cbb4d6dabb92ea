"""The demo: an invented shop, its stock and its work, loaded through the same services that people use."""
