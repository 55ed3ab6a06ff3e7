"""The gate of design models in CI: baselines, comparison, verdict."""
