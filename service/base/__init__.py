"""What every part of the service shares: models, calculations, problems, parsing, text."""
