"""What is drawn by hand as SVG: the water line, plans and timelines, and the pieces panels draw with."""
