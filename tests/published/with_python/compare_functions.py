#!/usr/bin/python3
"""Compares the program's own functions at random points with python3-fluids and python3-scipy.

    compare_functions.py PROBE        (PROBE: the built glassbowl_probe)

fluids gives the atmosphere, the expansibility of nozzles, the critical ratio and a drift-flux void fraction;
scipy finds roots, integrates areas and differential equations. Where only a formula is published, it is written
out here from the paper, and scipy inverts it. Prints the largest difference of each comparison; fails when one
exceeds its tolerance, when a module is missing or when a comparison had no points.
"""
import math
import subprocess
import sys

try:
    import fluids
    import numpy as np
    from scipy import integrate, optimize
except ImportError as missing:
    sys.exit(f"compare_functions.py needs Debian's python3-fluids and python3-scipy: {missing}")

POINTS = 200
SEED = 20240229
R_AIR = 287.05287
G0 = 9.80665
random = np.random.default_rng(SEED)


def uniform(low, high):
    return float(random.uniform(low, high))


def logarithmic(low, high):
    return math.exp(uniform(math.log(low), math.log(high)))


# --- what the libraries say -------------------------------------------------------------------------------

def geometric(height):
    """fluids takes geometric, the program geopotential altitude."""
    earth = 6356766.0
    return earth * height / (earth - height)


def nozzle_flow(gamma, area, p_up, rho, p_down):
    """Incompressible flow times fluids' expansibility of a small nozzle; below the critical ratio that at it."""
    p = max(p_down, fluids.P_critical_flow(p_up, gamma))
    phi = fluids.flow_meter.nozzle_expansibility(D=1.0, Do=1e-6, P1=p_up, P2=p, k=gamma)
    return area * math.sqrt(2.0 * rho * (p_up - p)) * phi


def depression(flow, rho, p, area):
    return optimize.brentq(lambda d: nozzle_flow(1.4, area, p, rho, p - d) - flow, 1e-3, 0.47 * p, xtol=1e-9)


def lichtarowicz(reynolds, ratio):
    """Lichtarowicz, Duggins & Markland 1965, eqs. 7 and 12, as transcribed from the paper."""
    ultimate = 0.810 if ratio < 2.0 else 0.827 - 0.0085 * ratio
    correction = 0.005 * ratio / (1.0 + 7.5 * math.log10(0.00015 * reynolds) ** 2)
    return 1.0 / (1.0 / ultimate + 20.0 / reynolds * (1.0 + 2.25 * ratio) - correction)


def jet_flow(bore, length, difference, rho, nu):
    speed = math.sqrt(2.0 * difference / rho)
    return lichtarowicz(bore * speed / nu, length / bore) * 0.25 * math.pi * bore**2 * rho * speed


def jet_loss(bore, length, flow, rho, nu):
    return optimize.brentq(lambda dp: jet_flow(bore, length, dp, rho, nu) - flow, 1e-6, 1e8, rtol=1e-13)


def jet_bore(volume_flow, head, length, rho, nu):
    return optimize.brentq(lambda d: jet_flow(d, length, rho * G0 * head, rho, nu) - rho * volume_flow, 0.05e-3, 10e-3,
                           xtol=1e-14)


def void_fraction(gas, liquid, diameter):
    """fluids wants quality, densities and mass flow; at equal velocities any densities will do."""
    rho_l, rho_g = 740.0, 1.15
    mass = rho_g * gas + rho_l * liquid
    return fluids.two_phase_voidage.Nicklin_Wilkes_Davidson(
        x=rho_g * gas / mass, rhol=rho_l, rhog=rho_g, m=mass * 0.25 * math.pi * diameter**2, D=diameter)


def open_fraction(bore, shaft, closed, angle):
    """What the plate's projected ellipse and the shaft leave of the bore, by area; 2/pi of the half bore."""
    shade, half_shaft = math.cos(angle) / math.cos(closed), shaft / bore
    def free(turn):  # across the bore at sin(turn) of its radius along the shaft
        half = math.cos(turn)
        return max(0.0, half - max(shade * half, half_shaft)) * half
    corners = [math.acos(min(1.0, half_shaft / k)) for k in (1.0, max(shade, 1e-12))]
    edges = sorted({0.0, math.pi / 2, *corners})
    area = sum(integrate.quad(free, a, b, epsabs=1e-13, epsrel=1e-12)[0] for a, b in zip(edges, edges[1:]))
    return 4.0 * area / math.pi


def exposed_share(diameter, position, edge):
    r = 0.5 * diameter
    top = min(max(edge - position, -r), r) / r
    return 2.0 / math.pi * integrate.quad(lambda turn: math.cos(turn) ** 2, -math.pi / 2, math.asin(top), epsabs=1e-13)[0]


def volume(bore, stroke, rod, ratio, angle):
    """The piston pin is where a rod's length from the crank pin meets the cylinder's axis."""
    a = 0.5 * stroke
    pin = optimize.brentq(lambda y: math.hypot(a * math.sin(angle), y - a * math.cos(angle)) - rod,
                          a * math.cos(angle), a + 2.0 * rod, xtol=1e-15, rtol=1e-14)
    area = 0.25 * math.pi * bore**2
    return area * stroke / (ratio - 1.0) + area * (a + rod - pin)


def volume_slope(bore, stroke, rod, ratio, angle):
    """Four-point central difference of the volume."""
    h = 1e-3
    v = [volume(bore, stroke, rod, ratio, angle + k * h) for k in (-2, -1, 1, 2)]
    return (v[0] - 8 * v[1] + 8 * v[2] - v[3]) / (12 * h)


# --- comparisons: name, points, other library's value, tolerance, reason -----------------------------------

def jet_points():
    out = []
    while len(out) < POINTS:
        bore, ratio, dp = logarithmic(0.3e-3, 2e-3), uniform(2.0, 10.0), logarithmic(1.0, 2e4)
        rho, nu = uniform(700.0, 790.0), logarithmic(0.38e-6, 1.5e-6)
        if 10.0 < bore / nu * math.sqrt(2.0 * dp / rho) < 2e4:  # range of the paper
            out.append((bore, ratio * bore, dp, rho, nu))
    return out


def crank_points():
    return [(uniform(0.05, 0.1), s := uniform(0.05, 0.1), s * uniform(1.4, 2.2), uniform(7.0, 11.0),
             uniform(0.0, 4.0 * math.pi)) for _ in range(POINTS)]


heights = [(uniform(0.0, 4000.0),) for _ in range(POINTS)]
jets = jet_points()
cranks = crank_points()
throats = [(logarithmic(1e-4, 0.0285), uniform(0.9, 1.25), uniform(65e3, 103e3), uniform(3e-4, 6e-4)) for _ in range(POINTS)]
throats = [t for t in throats if nozzle_flow(1.4, t[3], t[2], t[1], 0.784 * t[2]) > t[0]]  # up to Mach 0.6

COMPARISONS = [
    ("atmosphere_temperature", heights, lambda h: fluids.ATMOSPHERE_1976(geometric(h)).T, 1e-6, "fluids' own constants"),
    ("atmosphere_pressure", heights, lambda h: fluids.ATMOSPHERE_1976(geometric(h)).P, 1e-6, "fluids' own constants"),
    ("atmosphere_density", heights, lambda h: fluids.ATMOSPHERE_1976(geometric(h)).rho, 1e-5,
     "fluids' gas constant is rounded"),
    ("air_viscosity", [(uniform(250.0, 310.0),) for _ in range(POINTS)],
     lambda T: fluids.ATMOSPHERE_1976.viscosity(T), 1e-9, "one formula"),
    ("critical_pressure_ratio", [(uniform(1.2, 1.67),) for _ in range(POINTS)],
     lambda k: fluids.P_critical_flow(1.0, k), 1e-12, "round-off"),
    ("orifice_flow",
     [(uniform(1.25, 1.5), logarithmic(1e-7, 1e-3), p := uniform(60e3, 110e3), uniform(0.7, 1.3),
       p * (1.0 - logarithmic(1e-4, 0.9))) for _ in range(POINTS)], nozzle_flow, 1e-8, "the program's polynomial, 1e-10 of the square"),
    ("throat_depression", throats, depression, 0.01, "the program claims 1 % up to Mach 0.6"),
    ("jet_discharge", [(logarithmic(10.0, 2e4), uniform(2.0, 10.0)) for _ in range(POINTS)], lichtarowicz, 1e-9, "one formula"),
    ("jet_flow", jets, jet_flow, 1e-7, "the program's guard against division by zero"),
    ("jet_loss", [(b, l, jet_flow(b, l, dp, rho, nu), rho, nu) for b, l, dp, rho, nu in jets], jet_loss, 4e-3,
     "the program claims 0.2 % of flow, twice that of pressure"),
    ("bore_from_flow_rating",
     [(0.25 * math.pi * b**2 * uniform(0.6, 0.75) * math.sqrt(2.0 * G0 * head), head, l, rho, nu)
      for b, l, _, rho, nu in jets if b > 0.5e-3 and l / b < 6.0 for head in (uniform(0.3, 0.6),)], jet_bore, 1e-7,
     "two root finders"),
    ("drift_flux_void", [(logarithmic(0.01, 10.0), logarithmic(0.01, 2.0), uniform(1e-3, 8e-3)) for _ in range(POINTS)],
     void_fraction, 1e-12, "round-off"),
    ("throttle_open_fraction",
     [(0.036, 0.036 * uniform(0.0, 0.3), c := math.radians(uniform(4.0, 12.0)), uniform(c + 0.02, math.pi / 2))
      for _ in range(POINTS)], open_fraction, 1e-8, "quadrature"),
    ("port_exposure", [(d := uniform(0.4e-3, 1.2e-3), 5e-3, 5e-3 + d * uniform(-0.7, 0.7)) for _ in range(POINTS)],
     exposed_share, 1e-8, "quadrature"),
    ("cylinder_volume", cranks, volume, 1e-11, "root of the linkage"),
    ("cylinder_volume_slope", cranks, volume_slope, 1e-7, "difference quotient, over the largest slope"),
]


def ask(probe, lines):
    run = subprocess.run([probe], input="\n".join(lines) + "\n", capture_output=True, text=True)
    if run.returncode != 0:
        sys.exit(run.stderr.strip())
    return np.array([float(word) for word in run.stdout.split()])


def line(name, point):
    return " ".join([name, *(repr(float(x)) for x in point)])


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__.strip().splitlines()[2].strip())
    probe, failed = sys.argv[1], 0

    def report(name, count, worst, tolerance, reason):
        nonlocal failed
        bad = not (count > 0 and worst <= tolerance)  # NaN is bad
        failed += bad
        print(f"{name:28}{count:5} points  largest difference {worst:9.2e}  tolerance {tolerance:7.0e}  "
              f"{'FAILS' if bad else 'holds'}  ({reason})")

    for name, points, other, tolerance, reason in COMPARISONS:
        ours = ask(probe, [line(name, p) for p in points])
        theirs = np.array([other(*p) for p in points])
        scale = np.abs(theirs).max() if name in ("cylinder_volume_slope", "port_exposure", "throttle_open_fraction") else np.abs(theirs)
        report(name, len(points), float((np.abs(ours - theirs) / scale).max()), tolerance, reason)

    # The burn rate's hazard, integrated as the engine does, gives the published fraction back.
    hazard = lambda s, x: (1.0 - x) * ask(probe, [line("wiebe_hazard", (s,))])
    ends = np.linspace(0.1, 1.3, 13)
    solved = integrate.solve_ivp(hazard, (0.0, 1.3), [0.0], t_eval=ends, rtol=1e-8, atol=1e-10)
    report("wiebe_hazard", len(ends), float(np.abs(solved.y[0] + np.expm1(-5.0 * ends**3)).max()), 1e-6,
           "scipy.integrate.solve_ivp")
    ours = ask(probe, [line("wiebe_fraction", (s,)) for s in ends])
    report("wiebe_fraction", len(ends), float(np.abs(ours + np.expm1(-5.0 * ends**3)).max()), 1e-11, "the program's exponential, 5e-12")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
