"""Daily weather: read, checked, filled as declared, and turned into reference evapotranspiration."""
