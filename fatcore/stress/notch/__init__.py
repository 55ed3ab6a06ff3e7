"""Sharp V-notches: exponents, fields, energy coefficients, averaged strain energy."""
