"""Life of a growing crack: phases, end criteria, history, findings, inspection."""
