"""Evaluation of tests over HTTP."""
