"""Growth rates of cracked specimens: readings to rates, rates against stress intensity, laws fitted to them."""
