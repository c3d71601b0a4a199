"""Raw tank, filters and their wash, cartridges."""
