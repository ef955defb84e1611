"""Drawing true to scale on paper: scales, strokes, tags on leaders."""
