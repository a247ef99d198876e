"""From a scenario and a seed to the weather of every day: water levels and wave tallies."""
