"""What a forecast leaves behind: the Dataset, its indicators and its tables."""
