"""What commands show for a person, one file a topic; every line fits a terminal."""
