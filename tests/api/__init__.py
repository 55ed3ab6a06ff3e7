"""Tests of the service over HTTP."""
