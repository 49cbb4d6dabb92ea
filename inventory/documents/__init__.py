"""Documents of the buying desk. Import the modules inside the function that writes a file: they bring drawing libraries."""
