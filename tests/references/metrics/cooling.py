"""Time constants of the made-up cooling series of published/physics.json to 25 digits.

python3 cooling.py (mpmath 1.3.0): roots of the gradient of the sum of squares, and the uncertainty of tau
from the Jacobian there."""
from mpmath import mp, mpf, exp, findroot, matrix, sqrt, log

mp.dps = 40
t = [mpf(60 * i) for i in range(11)]
y = [mpf(s) for s in "46.1 39.4 34.7 31.4 28.9 27.2 25.7 24.9 24.3 23.6 23.4".split()]


def fit(start, room):
    columns = lambda p: [[p[1] * u * exp(-u / p[0]) / p[0] ** 2 for u in t], [exp(-u / p[0]) for u in t]] + ([[mpf(1)] * 11] if room is None else [])
    left = lambda p: [y[i] - (p[2] if room is None else room) - p[1] * exp(-t[i] / p[0]) for i in range(11)]
    p = list(findroot(lambda *p: [sum(a * b for a, b in zip(c, left(p))) for c in columns(p)], start))
    r, c = left(p), columns(p)
    rss = sum(x * x for x in r)
    inverse = matrix([[sum(a * b for a, b in zip(u, v)) for v in c] for u in c]) ** -1
    variance = rss / (11 - len(p))
    print([mp.nstr(x, 20) for x in p], "rss", mp.nstr(rss, 20), "u", [mp.nstr(sqrt(variance * inverse[i, i]), 20) for i in range(len(p))])


fit((mpf("183.5"), mpf("23.55")), mpf("22.5"))
fit((mpf("184.1"), mpf("23.57"), mpf("22.47")), None)


def slope_of_room(step):
    def tau(room):
        f = lambda k, a: [sum((y[i] - room - a * exp(-t[i] / k)) * exp(-t[i] / k) * w for i, w in enumerate(ws)) for ws in ([mpf(1)] * 11, t)]
        return findroot(f, (mpf("183.5"), mpf("23.55")))[0]
    return (tau(mpf("22.5") + step) - tau(mpf("22.5") - step)) / (2 * step)


print("change of tau for a degree of room temperature", mp.nstr(slope_of_room(mpf("1e-8")), 15))
