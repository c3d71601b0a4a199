"""Raw tank, filters and their backwash, cartridges."""
