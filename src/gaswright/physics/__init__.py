"""Physics: place, mixture, equation of state, cylinder content, density, narcosis."""
