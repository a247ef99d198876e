"""The plan document and the interactive page, made from a forecast."""
