"""Glass in numpy. A plate's light is followed face by face, each polarisation by itself, in its own form of Fresnel's
equations (sines and tangents of the angles)."""

import numpy as np

# SCHOTT, data sheet of N-BK7: indices at the lines F, d, C, and the coefficients of its dispersion formula (um^2).
CATALOGUE = {486.1327: 1.52238, 587.5618: 1.51680, 656.2725: 1.51432}
BK7 = ((1.03961212, 0.231792344, 1.01046945), (0.00600069867, 0.0200179144, 103.560653))


def face(index, incidence):
    """Reflectances across the plane of incidence and in it, and the angle in the glass."""
    inside = np.arcsin(np.sin(incidence) / index)
    if incidence < 1e-9:
        r = ((index - 1) / (index + 1)) ** 2
        return r, r, inside
    minus, plus = incidence - inside, incidence + inside
    return (np.sin(minus) / np.sin(plus)) ** 2, (np.tan(minus) / np.tan(plus)) ** 2, inside


def plate(index, thickness, absorption, incidence):
    """What passes and what is turned back, of light that is not polarised."""
    across, along, inside = face(index, incidence)
    left = np.exp(-absorption * thickness / np.cos(inside))
    passes, turned = 0.0, 0.0
    for r in (across, along):
        light, out = (1 - r) * left, [0.0, r]  # at the far face; passed, turned back
        for reflection in range(2000):
            out[reflection % 2] += light * (1 - r)
            light *= r * left
        passes += out[0] / 2
        turned += out[1] / 2
    return passes, turned
