"""The layout from the tap to the last emitter: where each piece lies, its network, its parts."""
