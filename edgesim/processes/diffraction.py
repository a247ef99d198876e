r"""The wave field behind a row of porous or rigid walls with gaps.

Frame: the walls stand on the line x = 0, x grows landward, y alongshore. A
wave of unit amplitude arrives at `angle` to the x axis, positive when it runs
towards +y. Time factor :math:`e^{-i\omega t}`. Every thin wall is known by its
resistance number (see :mod:`edgesim.processes.transmission`): 0 open water,
infinity a rigid wall.

Velocity is continuous through a wall and the potential jumps by J(y), so all
of the scattering is in J, and J is zero in the gaps:

.. math::
    \phi = e^{i k_x x + i k_{y0} y} + \mathrm{sgn}(x) \sum_m \tfrac12 \hat J_m
           e^{i k_{ym} y + i g_m |x|}, \quad g_m = \sqrt{k^2 - k_{ym}^2},\ \Im g \ge 0

and on every wall :math:`\partial_x \phi = -\frac{ik}{2\Lambda} J`. J is found by
collocation at the centres of the cells of a uniform grid, alongshore periodic:
pad a real row with open water.

**Edges.** J falls to zero like a square root at the end of a wall, so plain
collocation misplaces each end by a fixed share of a cell and errs in the first
power of the spacing. Factorising the symbol of the discrete operator (Wiener
and Hopf) gives that share: an operator :math:`2 |\sin(\kappa/2)| e^{h(\kappa)}`,
:math:`\kappa = k_y \Delta y`, :math:`h = \sum_j h_j \cos j\kappa`, makes a wall longer by
:math:`\frac14 + \frac12 \sum_j j h_j` cells at each end. Two coefficients are chosen so that
this is zero and the operator agrees with :math:`|\kappa|` to fourth order. With 15 cells a
wavelength and gaps of four cells or more the energy through a row is then within 0.1 % of
the incident energy of its limit, where plain collocation errs by about 1 %; a gap of two
cells errs by about 2 %. Derived and measured here (regression tests hold the numbers).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import lu_factor, lu_solve, toeplitz
from scipy.special import fresnel

from edgesim.errors import InvalidParameterError

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

COARSEST_CELL = 0.5 * np.pi
"""Largest wavenumber times spacing that is accepted: four cells a wavelength (judgement). [rad]"""

EDGE_CORRECTION = (-11.0 / 12.0, 5.0 / 24.0)
r"""Cosine coefficients :math:`h_1, h_2`: no edge shift (:math:`h_1 + 2 h_2 = -1/2`) and
fourth-order agreement (:math:`h_1 + 4 h_2 = -1/12`); derived here. [1]"""


def half_plane(
    distance: ArrayLike, polar_angle: ArrayLike, approach_angle: float, wavenumber: float
) -> Complex:
    r"""Field around the tip of a rigid half-plane, exact.

    Parameters
    ----------
    distance : array_like
        Distance from the tip, >= 0. [m]
    polar_angle : array_like
        Angle about the tip from the face of the barrier, 0 to 2 pi. [rad]
    approach_angle : float
        Polar angle from which the wave arrives. [rad]
    wavenumber : float
        Wavenumber, > 0. [m-1]

    Returns
    -------
    ndarray of complex128
        Field of a unit incident wave with phase zero at the tip. [1]

    Raises
    ------
    InvalidParameterError
        If the wavenumber is not > 0.

    Notes
    -----
    .. math::
        u = W(a_-) e^{-ikr\cos(\theta-\theta_0)} + W(a_+) e^{-ikr\cos(\theta+\theta_0)}, \quad
        a_\mp = 2\sqrt{kr/\pi}\,\cos\tfrac12(\theta \mp \theta_0)

    with :math:`W(s) = \frac{1-i}{2} \{C(s) + \frac12 + i [S(s) + \frac12]\}` and the Fresnel
    integrals C, S. Exact theory (formula from memory; it solves the equation and both faces).

    References
    ----------
    A. Sommerfeld, 1896, "Mathematische Theorie der Diffraction".
    W. G. Penney and A. T. Price, 1952, "The diffraction theory of sea waves and the shelter afforded by breakwaters".
    """
    k = _positive("wavenumber", wavenumber)
    r, theta = np.asarray(distance, float), np.asarray(polar_angle, float)
    field = np.zeros(np.broadcast_shapes(r.shape, theta.shape), complex)
    for direction in (theta - approach_angle, theta + approach_angle):
        sine, cosine = fresnel(2.0 * np.sqrt(k * r / np.pi) * np.cos(0.5 * direction))
        envelope = 0.5 * (1.0 - 1.0j) * ((cosine + 0.5) + 1.0j * (sine + 0.5))
        field += envelope * np.exp(-1.0j * k * r * np.cos(direction))
    return field


def gap_superposition(
    behind: ArrayLike,
    alongshore: ArrayLike,
    gap_width: float,
    wavenumber: float,
    angle: float = 0.0,
) -> Complex:
    r"""Field behind one gap in a long rigid wall, from its two tips.

    Parameters
    ----------
    behind : array_like
        Distance landward of the wall, > 0. [m]
    alongshore : array_like
        Distance from the middle of the gap. [m]
    gap_width : float
        Width of the gap, > 0. [m]
    wavenumber : float
        Wavenumber, > 0. [m-1]
    angle : float, default 0.0
        Direction of the wave from the normal, towards +y positive. [rad]

    Returns
    -------
    ndarray of complex128
        Field of a unit incident wave with phase zero in the middle of the gap. [1]

    Raises
    ------
    InvalidParameterError
        If the gap width or the wavenumber is not > 0.

    Notes
    -----
    Left half-plane plus right half-plane minus the incident wave: waves scattered
    to and fro between the tips are left out, an error below 0.5 % for gaps wider
    than a wavelength and 1.5 % at half a wavelength (computed).

    References
    ----------
    W. G. Penney and A. T. Price, 1952, "The diffraction theory of sea waves and the shelter afforded by breakwaters".
    """
    k = _positive("wavenumber", wavenumber)
    half = 0.5 * _positive("gap_width", gap_width)
    x, y = np.asarray(behind, float), np.asarray(alongshore, float)
    field = -np.exp(1.0j * k * (x * np.cos(angle) + y * np.sin(angle)))
    for side in (-1.0, 1.0):
        outward = side * y - half
        polar = np.mod(np.arctan2(-x, outward), 2.0 * np.pi)
        approach = np.arctan2(np.cos(angle), -side * np.sin(angle))
        phase_at_tip = np.exp(1.0j * k * side * half * np.sin(angle))
        field = field + phase_at_tip * half_plane(np.hypot(x, outward), polar, approach, k)
    return np.asarray(field)


def barrier_jump(
    resistance: ArrayLike, spacing: float, wavenumber: float, angle: float = 0.0
) -> Complex:
    """Jump of the potential across a row of walls, behind minus in front.

    Parameters
    ----------
    resistance : array_like, shape (ny,)
        Resistance number of each cell, at normal incidence, alongshore periodic;
        0 open water, infinity a rigid wall. [1]
    spacing : float
        Width of a cell, > 0; a wall covers whole cells. [m]
    wavenumber : float
        Wavenumber, > 0, at least four cells a wavelength. [m-1]
    angle : float, default 0.0
        Direction of the wave from the normal, towards +y positive. [rad]

    Returns
    -------
    ndarray of complex128, shape (ny,)
        Jump for a unit incident wave with phase zero in the middle of the row. [1]

    Raises
    ------
    InvalidParameterError
        If a resistance is negative or not a number, the grid is too coarse, or
        the angle is not within +-90 degrees.

    Notes
    -----
    The equation and the error of the grid are at the head of the file. A uniform
    wall gives the transmission 1/(1 + resistance cos(angle)), to round-off at
    normal incidence and to the fourth power of the cell when oblique.
    """
    walls = _resistances(resistance)
    _check_wave(spacing, wavenumber, angle)
    periodic = _jump_pair(walls, spacing, wavenumber, angle)[0]
    return np.asarray(_carrier(walls.size, spacing, wavenumber, angle) * periodic)


def field_behind(
    jump: ArrayLike, spacing: float, wavenumber: float, angle: float, distances: ArrayLike
) -> Complex:
    """Wave field at distances landward of the walls.

    Parameters
    ----------
    jump : array_like, shape (ny,)
        Jump across the row, from :func:`barrier_jump`. [1]
    spacing : float
        Width of a cell. [m]
    wavenumber : float
        Wavenumber. [m-1]
    angle : float
        Direction of the wave from the normal. [rad]
    distances : array_like, shape (n,)
        Distances landward of the walls, >= 0. [m]

    Returns
    -------
    ndarray of complex128, shape (n, ny)
        Field of a unit incident wave. [1]

    Raises
    ------
    InvalidParameterError
        As :func:`barrier_jump`, or if a distance is negative.
    """
    _check_wave(spacing, wavenumber, angle)
    landward = _distances(distances)
    total = np.asarray(jump, complex)
    carrier = _carrier(total.size, spacing, wavenumber, angle)
    return carrier * _periodic_field(total * carrier.conj(), spacing, wavenumber, angle, landward)


def energy_partition(
    jump: ArrayLike, resistance: ArrayLike, spacing: float, wavenumber: float, angle: float = 0.0
) -> tuple[float, float, float]:
    r"""Shares of the incident energy that pass, turn back and are dissipated.

    Parameters
    ----------
    jump : array_like, shape (ny,)
        Jump across the row, from :func:`barrier_jump`. [1]
    resistance : array_like, shape (ny,)
        Resistance number of each cell. [1]
    spacing : float
        Width of a cell. [m]
    wavenumber : float
        Wavenumber. [m-1]
    angle : float, default 0.0
        Direction of the wave from the normal. [rad]

    Returns
    -------
    transmitted, reflected, dissipated : float
        Shares of the energy that falls on the whole length of the domain. [1]

    Raises
    ------
    InvalidParameterError
        As :func:`barrier_jump`.

    Notes
    -----
    Dissipation is the work done in the walls, :math:`k|J|^2/(2\Lambda k_x)` averaged
    alongshore, not a remainder: the sum of the three tests the solution.
    """
    walls = _resistances(resistance)
    _check_wave(spacing, wavenumber, angle)
    total = np.asarray(jump, complex)
    carrier = _carrier(total.size, spacing, wavenumber, angle)
    scattered = 0.5 * np.fft.fft(total * carrier.conj()) / total.size
    passed = scattered.copy()
    passed[0] += 1.0
    normal = wavenumber * np.cos(angle)
    landward = _landward(_alongshore(total.size, spacing, wavenumber, angle), wavenumber)
    flux = landward.real / normal
    solid = walls > 0.0
    work = 0.5 * wavenumber / normal * np.abs(total[solid]) ** 2 / walls[solid]
    return (
        float(np.sum(flux * np.abs(passed) ** 2)),
        float(np.sum(flux * np.abs(scattered) ** 2)),
        float(np.sum(work) / total.size),
    )


def mean_intensity(
    resistance: ArrayLike,
    spacing: float,
    wavenumbers: ArrayLike,
    weights: ArrayLike,
    angles: ArrayLike,
    distances: ArrayLike,
) -> Real:
    """Squared relative wave height behind the walls, averaged over a band of waves.

    Wakes are short and incoherent: the fringes of a single wave are not seen.

    Parameters
    ----------
    resistance : array_like, shape (ny,)
        Resistance number of each cell, alongshore periodic. [1]
    spacing : float
        Width of a cell, > 0. [m]
    wavenumbers : array_like, shape (nk,)
        Wavenumbers of the band, > 0. [m-1]
    weights : array_like, shape (nk,)
        Weight of each wavenumber, >= 0; made to sum to 1. [1]
    angles : array_like, shape (na,)
        Directions from the normal, equally weighted. [rad]
    distances : array_like, shape (n,)
        Distances landward of the walls, >= 0. [m]

    Returns
    -------
    ndarray of float64, shape (n, ny)
        Mean squared modulus of the field of a unit incident wave. [1]

    Raises
    ------
    InvalidParameterError
        As :func:`field_behind`, or if the weights do not fit the wavenumbers.

    Notes
    -----
    The equations of a wave and of its mirror image are transposes: one
    factorisation serves both.
    """
    walls, landward = _resistances(resistance), _distances(distances)
    band = np.atleast_1d(np.asarray(wavenumbers, float))
    shares = _shares(weights, band.size)
    directions = np.atleast_1d(np.asarray(angles, float))
    result = np.zeros((landward.size, walls.size))
    for wavenumber, share in zip(band, shares, strict=True):
        for angle in np.unique(np.abs(directions)):
            _check_wave(spacing, wavenumber, angle)
            counts = np.sum(directions == angle), np.sum((directions == -angle) & (angle > 0.0))
            pair = _jump_pair(walls, spacing, wavenumber, angle)
            for signed, count, jump in zip((angle, -angle), counts, pair, strict=True):
                if count:
                    field = _periodic_field(jump, spacing, wavenumber, signed, landward)
                    result += share * count / directions.size * np.abs(field) ** 2
    return result


def side_intensities(
    resistance: ArrayLike, spacing: float, wavenumber: float, angle: float, distances: ArrayLike
) -> Real:
    """Squared relative wave height behind the walls of a wave from `angle`, and of its mirror image.

    Parameters
    ----------
    resistance, spacing, wavenumber, distances
        As :func:`mean_intensity`, of one wave.
    angle : float
        Direction of the wave from the normal, towards +y, >= 0. [rad]

    Returns
    -------
    ndarray of float64, shape (2, n, ny)
        Squared modulus of the field of a unit wave from `angle`, and of one from `-angle`. [1]
    """
    walls, landward = _resistances(resistance), _distances(distances)
    _check_wave(spacing, wavenumber, angle)
    pair = _jump_pair(walls, spacing, wavenumber, angle)
    fields = [
        _periodic_field(jump, spacing, wavenumber, signed, landward)
        for signed, jump in zip((angle, -angle), pair, strict=True)
    ]
    return np.asarray(np.abs(fields) ** 2)


def _jump_pair(resistance: Real, spacing: float, wavenumber: float, angle: float) -> Complex:
    """Jumps, without their carrier, of the wave from `angle` and of the one from `-angle`."""
    count = resistance.size
    walls = np.flatnonzero(resistance)
    jumps = np.zeros((2, count), complex)
    if not walls.size:
        return jumps
    alongshore = _alongshore(count, spacing, wavenumber, angle)
    symbol = 0.5j * _landward(alongshore, wavenumber) * _edge_factor(alongshore * spacing)
    first_column = np.fft.ifft(symbol)
    first_row = np.roll(first_column[::-1], 1)
    place = walls - walls[0]
    extent = place[-1] + 1  # the padding beyond the walls needs no matrix
    operator = toeplitz(first_column[:extent], first_row[:extent])[np.ix_(place, place)]
    operator[np.diag_indices(walls.size)] += 0.5j * wavenumber / resistance[walls]
    incident = np.full(walls.size, -1.0j * wavenumber * np.cos(angle))
    factors = lu_factor(operator, overwrite_a=True, check_finite=False)
    for transposed in (0, 1):
        jumps[transposed, walls] = lu_solve(factors, incident, trans=transposed, check_finite=False)
    return jumps


def _periodic_field(
    jump: Complex, spacing: float, wavenumber: float, angle: float, distances: Real
) -> Complex:
    """Field behind, without its carrier, one row a distance."""
    modes = 0.5 * np.fft.fft(jump)
    modes[0] += jump.size
    landward = _landward(_alongshore(jump.size, spacing, wavenumber, angle), wavenumber)
    return np.asarray(np.fft.ifft(modes * np.exp(1.0j * landward * distances[:, None]), axis=1))


def _alongshore(count: int, spacing: float, wavenumber: float, angle: float) -> Real:
    """Alongshore wavenumbers of the modes, in the order of the FFT, within the grid's band."""
    modes = 2.0 * np.pi * np.fft.fftfreq(count, spacing) + wavenumber * np.sin(angle)
    nyquist = np.pi / spacing
    return np.asarray(np.mod(modes + nyquist, 2.0 * nyquist) - nyquist)


def _landward(alongshore: Real, wavenumber: float) -> Complex:
    """Landward wavenumber of each mode, imaginary and positive when it decays."""
    return np.asarray(np.sqrt((wavenumber**2 - alongshore**2).astype(complex)))


def _edge_factor(kappa: Real) -> Real:
    """Factor on the operator that puts the ends of the walls where they are."""
    first, second = EDGE_CORRECTION
    exponent = first * (np.cos(kappa) - 1.0) + second * (np.cos(2.0 * kappa) - 1.0)
    return np.asarray(np.sinc(0.5 * kappa / np.pi) * np.exp(exponent))


def _carrier(count: int, spacing: float, wavenumber: float, angle: float) -> Complex:
    """Incident wave along the row, phase zero in the middle."""
    alongshore = (np.arange(count) - 0.5 * (count - 1)) * spacing
    return np.asarray(np.exp(1.0j * wavenumber * np.sin(angle) * alongshore))


def _resistances(value: ArrayLike) -> Real:
    array = np.asarray(value, float)
    if array.ndim != 1 or not array.size or not (array >= 0.0).all():
        message = f"resistance = {array} must be a row of numbers >= 0 (inf for a rigid wall)"
        raise InvalidParameterError(message)
    return array


def _distances(value: ArrayLike) -> Real:
    array = np.atleast_1d(np.asarray(value, float))
    if not (np.isfinite(array) & (array >= 0.0)).all():
        message = f"distances = {array} must be finite and >= 0 m"
        raise InvalidParameterError(message)
    return array


def _shares(weights: ArrayLike, count: int) -> Real:
    array = np.atleast_1d(np.asarray(weights, float))
    if array.shape != (count,) or not (array >= 0.0).all() or not 0.0 < array.sum() < np.inf:
        message = f"weights = {array} must be {count} numbers >= 0, one a wavenumber, not all 0"
        raise InvalidParameterError(message)
    return np.asarray(array / array.sum())


def _check_wave(spacing: float, wavenumber: float, angle: float) -> None:
    cell = _positive("wavenumber", wavenumber) * _positive("spacing", spacing)
    if cell > COARSEST_CELL:
        message = (
            f"spacing = {spacing} m is too coarse for wavenumber = {wavenumber} 1/m: "
            f"at most {COARSEST_CELL / wavenumber:.3g} m (four cells a wavelength)"
        )
        raise InvalidParameterError(message)
    if not abs(angle) < 0.5 * np.pi:
        message = f"angle = {angle} must lie between -pi/2 and pi/2"
        raise InvalidParameterError(message)


def _positive(name: str, value: Any) -> float:
    number = float(value)
    if not 0.0 < number < np.inf:
        message = f"{name} = {value} must be finite and > 0"
        raise InvalidParameterError(message)
    return number
