"""Drawing of solids by hand: directions of sight, depth buffer, strokes, texts, all without a plotting package."""
