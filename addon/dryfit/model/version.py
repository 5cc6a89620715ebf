"""The one place that states the version."""

VERSION = "0.1.0"
