"""Tests of toeline."""
