"""The few curves that shapes are made of, over whole patches at once."""

import numpy as np

from fraginv.front.drawings.surface import Array


def sine(angle: Array) -> Array:
    """Return a wave between -1 and 1."""
    found: Array = np.sin(angle)
    return found


def cosine(angle: Array) -> Array:
    """Return a wave between -1 and 1 that begins on its crest."""
    found: Array = np.cos(angle)
    return found


def share(values: Array) -> Array:
    """Return values held between 0 and 1."""
    found: Array = np.clip(values, 0, 1)
    return found


def rounded(values: Array) -> Array:
    """Return an edge that rises like a ball's side where values run from 0 to 1."""
    found: Array = np.sqrt(share(values))
    return found


def bell(values: Array) -> Array:
    """Return a hill that is 1 where values are 0."""
    found: Array = np.exp(-(values**2))
    return found


def higher(first: Array, second: Array) -> Array:
    """Return the larger of two values at each place."""
    found: Array = np.maximum(first, second)
    return found


def size_of(values: Array) -> Array:
    """Return values without their sign."""
    found: Array = np.abs(values)
    return found
