"""How fast, against what a person would write without the library: `python -m pytest tests/benchmarks`."""
