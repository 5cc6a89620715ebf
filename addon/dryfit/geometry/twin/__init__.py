"""The numpy twin of the compiled kernel: slow, obvious, and the judge of it in tests."""
