"""Pictures of the reports, drawn with matplotlib to inline SVG."""
