"""The one place that states the version."""

VERSION = "0.2.0"
