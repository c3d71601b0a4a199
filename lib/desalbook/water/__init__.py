"""Water: composition, chemistry and properties. Importing the room loads no engine."""
