"""Pictures of a sized plant: SVG drawn from its numbers; nothing is calculated here."""
