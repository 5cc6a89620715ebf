"""From a report to JSON, CSV, HTML, text and pictures."""
