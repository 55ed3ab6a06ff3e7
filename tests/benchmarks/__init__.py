"""Speed and memory, measured side by side in one run: python -m tests.benchmarks [topic ...]."""
