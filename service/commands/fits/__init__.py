"""Commands that fit lines and laws to tests, and the option that puts them into other requests."""
