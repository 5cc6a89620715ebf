"""What a thin stretched film gives back when it lets go of what it is stuck to."""

import numpy as np

from ..model.arrays import FloatArray


def stored_j_m2(film_n_m: FloatArray, largest: FloatArray, smallest: FloatArray) -> FloatArray:
    """Return the energy that stretching has stored in each square metre of a film at rest, J/m2.

    A long edge of a bonded film that has begun to come off runs on when this exceeds what the bond takes to part, for
    what is loose slackens (Kendall 1975, J Phys D 8:1449-1452, peeling along the surface). The film is taken as an
    incompressible neo-Hookean solid free above and below: ``W = E / 6 (a2 + b2 + 1 / (a2 b2) - 3)`` (Treloar 1975, The
    Physics of Rubber Elasticity; both from memory). What is shortened, or narrowed further than a free strip would
    be, stores nothing here: a thin film folds instead.

    Parameters
    ----------
    film_n_m
        Young's modulus times thickness, N/m, of the shape that the stretches are broadcast with.
    largest, smallest
        Principal stretches, length now over length at rest.

    Returns
    -------
    ndarray
        nan where a stretch is.
    """
    along = np.maximum(largest, 1.0)
    across = np.maximum(smallest, 1.0 / np.sqrt(along))
    density = along**2 + across**2 + 1.0 / (along * across) ** 2 - 3.0
    energy: FloatArray = film_n_m * np.maximum(density, 0.0) / 6.0
    return energy
