"""The model: grid, state, wave field and the day loop."""
