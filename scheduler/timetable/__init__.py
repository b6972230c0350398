"""From a need to minutes that a timer can hold."""
