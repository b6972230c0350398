"""rillbook: watering schedule and water budget for raised-bed kitchen gardens on drip."""
