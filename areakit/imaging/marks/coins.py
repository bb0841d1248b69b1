"""Several coins as one mark: discs of known size on one table, whose places on it their own edges tell.

One coin cannot tell a tilt of the camera from a coin that is not quite round. Two show it along the line between them,
by how much larger the nearer one looks; three that are not in line show all of it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Camera, Residuals
from areakit.imaging.marks.disc import Coin, disc_residuals, place_of

Floats = npt.NDArray[np.float64]

_STEP_MM = 1e-3


def joint_residuals(coins: tuple[Coin, ...], camera: Camera) -> Residuals:
    """Return the residuals of all coins, as if each were as large in the photo as the first, which lies at the origin.

    What a shift of another coin does to its residuals is projected out of them (elimination of linear parameters), so
    that only its size and form speak of the camera.
    """
    first, *others = coins
    parts = [disc_residuals(first, camera), *(_shift_free(coin, camera) for coin in others)]
    weights = [first.edge.axes_px[0] / coin.edge.axes_px[0] for coin in coins]

    def residuals(parameters: Floats, k3: float) -> tuple[Floats, Floats]:
        found = [part(parameters, k3) for part in parts]
        misfits = [weight * misfit for weight, (misfit, _) in zip(weights, found, strict=True)]
        jacobians = [weight * jacobian for weight, (_, jacobian) in zip(weights, found, strict=True)]
        return np.concatenate(misfits), np.vstack(jacobians)

    return residuals


def _shift_free(coin: Coin, camera: Camera) -> Residuals:
    place = place_of(coin, camera)
    base = disc_residuals(coin, camera, place)
    here, _ = base(camera.parameters, camera.k3)
    moved = [
        disc_residuals(coin, camera, place, step)(camera.parameters, camera.k3)[0] for step in _STEP_MM * np.eye(2)
    ]
    basis, _ = np.linalg.qr(np.column_stack([one - here for one in moved]) / _STEP_MM)

    def residuals(parameters: Floats, k3: float) -> tuple[Floats, Floats]:
        misfit, jacobian = base(parameters, k3)
        return misfit - basis @ (basis.T @ misfit), jacobian - basis @ (basis.T @ jacobian)

    return residuals
