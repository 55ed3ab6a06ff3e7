"""Mutation run of our own: small changes to code and tables, and the tests that notice them."""
