"""The weather of a placing day: evaporation, heat, advice, and a weather station's table read."""
