"""The water line: the plant as one ribbon of water from sea to product."""
