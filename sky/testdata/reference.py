#!/usr/bin/python3
"""Reference answers for package sky, from ERFA and astropy (Debian python3-erfa, python3-astropy), offline.

    reference.py SEED POINTS NIGHTS > table.csv

UT1 is taken as UTC on both sides, and no air refracts. Columns of a row by its first word:

star   unix ra0 dec0 pmra pmdec | gast ra dec                 ERFA: IAU 2006/2000A, epv00, light bending
body   unix lat lon km ra0 dec0 | sun_alt sun_az moon_alt moon_az moon_star lit  astropy AltAz, its built-in ephemeris
night  day lat lon | noon next low_alt  then for -50', -6, -12, -18 deg: down up (unix, nan: none) and their slopes
moon   from to lat lon | transit rise set slope_rise slope_set
track  from to lat lon ra0 dec0 | transit up down slope least greatest        crossing 20 deg of altitude

Angles are degrees, pm in mas a year (pmra with cos dec), slopes arcseconds a second, ra and dec true of date.
"""
import sys
import numpy as np
import erfa

J2000 = 2451545.0
AU = erfa.DAU


def jd(unix):
    """UTC as two-part Julian date; every second has the same length after 2017."""
    unix = np.asarray(unix, float)
    day = np.floor(unix / 86400)
    return 2440587.5 + day, (unix - day * 86400) / 86400


def tt(unix):
    a, b = jd(unix)
    return a, b + (37 + 32.184) / 86400


def fmt(*xs):
    return ",".join(x if isinstance(x, str) else f"{x:.7f}".rstrip("0").rstrip(".") for x in xs)


class Frame:
    """True equator and equinox of one moment, used for half a day around it (nutation moves by < 0.1 arcsec)."""

    def __init__(self, unix):
        self.m = erfa.pnm06a(*tt(unix))

    def gast(self, unix):
        x, y = erfa.bpn2xy(self.m)
        s = erfa.s06(*tt(unix), x, y)
        return erfa.anp(erfa.era00(*jd(unix)) - erfa.eors(self.m, s))

    def site(self, unix, lat, lon, km):
        """Site vector on the true equator of date, metres."""
        xyz = erfa.gd2gc(1, np.radians(lon), np.radians(lat), km * 1000.0)
        g = self.gast(unix)
        c, s = np.cos(g), np.sin(g)
        return np.stack([c * xyz[0] - s * xyz[1], s * xyz[0] + c * xyz[1], xyz[2] + 0 * g], -1)

    def altitude(self, unix, u, lat, lon):
        ha = self.gast(unix) + np.radians(lon) - np.arctan2(u[..., 1], u[..., 0])
        dec = np.arctan2(u[..., 2], np.hypot(u[..., 0], u[..., 1]))
        _, el = erfa.hd2ae(ha, dec, np.radians(lat))
        return np.degrees(el), (np.degrees(ha) + 180) % 360 - 180


def sun(frame, unix, lat, lon, km):
    """Direction from the site: Sun where it was, from the Earth's centre, aberration, then the site."""
    a, b = tt(unix)
    pvh, pvb = erfa.epv00(a, b)
    tau = 499.004782 / 86400
    h2, b2 = erfa.epv00(a, b - tau)
    d = (b2["p"] - h2["p"]) - pvb["p"]
    r = np.linalg.norm(d, axis=-1, keepdims=True)
    v = pvb["v"] * (AU / 86400 / erfa.CMPS)
    u = erfa.ab(d / r, v, r[..., 0] * 0 + 1, np.sqrt(1 - np.sum(v * v, -1)))
    u = np.einsum("ij,...j->...i", frame.m, u) * r * AU - frame.site(unix, lat, lon, km)
    return u / np.linalg.norm(u, axis=-1, keepdims=True)


def moon(frame, unix, lat, lon, km):
    """Seen where it was a light time ago relative to the Earth, which is planetary aberration to 0.01 arcsec."""
    a, b = tt(unix)
    pv = erfa.moon98(a, b - 1.28 / 86400)
    u = np.einsum("ij,...j->...i", frame.m, pv["p"]) * AU - frame.site(unix, lat, lon, km)
    return u / np.linalg.norm(u, axis=-1, keepdims=True)


def star(unix, ra, dec, pmra=0.0, pmdec=0.0):
    """Apparent geocentric ra, dec of date and the sidereal time."""
    mas = np.radians(1 / 3.6e6)
    r, d = np.radians(ra), np.radians(dec)
    ri, di, eo = erfa.atci13(r, d, pmra * mas / np.cos(d), pmdec * mas, 0.0, 0.0, *tt(unix))
    gast = erfa.gst06a(*jd(unix), *tt(unix))
    return np.degrees(gast), np.degrees(erfa.anp(ri - eo)), np.degrees(di)


def cross(f, level, a, b):
    for _ in range(45):
        m = (a + b) / 2
        if (f(a) >= level) == (f(m) >= level):
            a = m
        else:
            b = m
    return (a + b) / 2


def slope(f, t):
    return abs(f(t + 5) - f(t - 5)) * 3600 / 10


def crossings(f, ts, level):
    """First fall below and last rise above the level, with their slopes."""
    hs = f(ts) - level
    down = up = sd = su = np.nan
    for i in range(len(ts) - 1):
        if hs[i] >= 0 > hs[i + 1] and np.isnan(down):
            down = cross(f, level, ts[i], ts[i + 1])
            sd = slope(f, down)
        if hs[i] < 0 <= hs[i + 1]:
            up = cross(f, level, ts[i], ts[i + 1])
            su = slope(f, up)
    return down, up, sd, su


def extreme(f, a, b, sign):
    for _ in range(60):
        x, y = a + (b - a) / 3, b - (b - a) / 3
        if sign * f(x) < sign * f(y):
            a = x
        else:
            b = y
    return (a + b) / 2


def transit(ha, guess, rate):
    for _ in range(15):
        guess -= ha(guess) / rate
    return guess


def points(rng, n, start, end):
    from astropy.coordinates import AltAz, EarthLocation, SkyCoord, get_body
    from astropy.time import Time
    from astropy.utils import iers
    import astropy.units as q

    iers.conf.auto_download = False
    iers.conf.auto_max_age = None
    iers.conf.iers_degraded_accuracy = "ignore"
    import warnings
    warnings.simplefilter("ignore")
    for _ in range(n):
        unix = round(rng.uniform(start, end))
        ra, dec = round(rng.uniform(0, 360), 5), round(np.degrees(np.arcsin(rng.uniform(-1, 1))), 5)
        if rng.random() < 0.2:  # as many near the poles as spheres would give in fifty times the rows
            dec = round(np.copysign(90 - rng.uniform(0, 2) ** 2 / 4 - 1e-5, dec), 5)
        pm = [round(x) for x in rng.normal(0, 500, 2)] if rng.random() < 0.3 else [0, 0]
        print(fmt("star", unix, ra, dec, *pm, *star(unix, ra, dec, *pm)))
    for _ in range(n):
        unix = round(rng.uniform(start, end))
        lat, lon, km = round(rng.uniform(-80, 80), 3), round(rng.uniform(-180, 180), 3), round(rng.uniform(0, 3), 2)
        ra, dec = round(rng.uniform(0, 360), 4), round(np.degrees(np.arcsin(rng.uniform(-1, 1))), 4)
        loc = EarthLocation.from_geodetic(lon * q.deg, lat * q.deg, km * q.km)
        t = Time(unix, format="unix", scale="utc", location=loc)
        t.delta_ut1_utc = 0.0
        aa = AltAz(obstime=t, location=loc)
        s = get_body("sun", t, loc, ephemeris="builtin").transform_to(aa)
        m = get_body("moon", t, loc, ephemeris="builtin").transform_to(aa)
        st = SkyCoord(ra * q.deg, dec * q.deg).transform_to(aa)
        fr = Frame(unix)
        pv, pm = erfa.epv00(*tt(unix))[0]["p"], erfa.moon98(*tt(unix))["p"]
        sm = -pv - pm  # Moon to Sun
        lit = (1 + np.dot(sm, -pm) / np.linalg.norm(sm) / np.linalg.norm(pm)) / 2
        deg = lambda x: float(x.to_value(q.deg))
        print(fmt("body", unix, lat, lon, km, ra, dec, deg(s.alt), deg(s.az), deg(m.alt), deg(m.az),
                  deg(m.separation(st)), lit))


def nights(rng, n, start, end):
    for _ in range(n):
        day = int(rng.uniform(start, end) // 86400)
        lat, lon = round(rng.uniform(-80, 80), 3), round(rng.uniform(-179.9, 179.9), 3)
        mid = (day + 1) * 86400.0 - lon * 240
        fr = Frame(mid)

        def vec(body, i):
            def g(t):
                t = np.atleast_1d(np.asarray(t, float))
                out = fr.altitude(t, body(fr, t, lat, lon, 0.0), lat, lon)[i]
                return out if len(out) > 1 else out[0]
            return g

        alt, ha = vec(sun, 0), vec(sun, 1)
        noon, nxt = transit(ha, mid - 43200, 360 / 86400), transit(ha, mid + 43200, 360 / 86400)
        low = extreme(alt, mid - 3 * 3600, mid + 3 * 3600, -1)
        ts = np.unique(np.append(np.linspace(noon, nxt, 145), low))
        row = [noon, nxt, alt(low)]
        for level in (-50 / 60, -6, -12, -18):
            row += crossings(alt, ts, level)
        print(fmt("night", day, lat, lon, *row))

        malt, mha = vec(moon, 0), vec(moon, 1)
        a, b = round(mid - 43200), round(mid + 43200)
        tr = transit(mha, a - mha(a) / (360 / 89428), 360 / 89428)
        if tr < a:
            tr = transit(mha, tr + 89428, 360 / 89428)
        down, up, sd, su = crossings(malt, np.linspace(a, b, 289), -50 / 60)
        print(fmt("moon", a, b, lat, lon, tr, up, down, su, sd))

        ra, dec = round(rng.uniform(0, 360), 4), round(np.degrees(np.arcsin(rng.uniform(-1, 1))), 4)
        _, sra, sdec = star(mid, ra, dec)
        c = np.radians([sra, sdec])
        u = np.array([np.cos(c[1]) * np.cos(c[0]), np.cos(c[1]) * np.sin(c[0]), np.sin(c[1])])
        fixed = lambda f, t, *_: np.broadcast_to(u, np.shape(t) + (3,))
        salt, sha = vec(fixed, 0), vec(fixed, 1)
        rate = 360 / 86164.0905
        tr = transit(sha, a - sha(a) / rate, rate)
        if tr < a:
            tr = transit(sha, tr + 86164, rate)
        ts = np.linspace(a, b, 289)
        ts = np.unique(np.concatenate([ts, [x for x in (tr, tr - 43082.05, tr + 43082.05) if a < x < b]]))
        down, up, sd, su = crossings(salt, ts, 20)
        h = salt(ts)
        print(fmt("track", a, b, lat, lon, ra, dec, tr, up, down, su, sd, h.min(), h.max()))


def main():
    seed, n, k = (int(x) for x in sys.argv[1:4])
    rng = np.random.default_rng(seed)
    start, end = 1577836800, 2240524800  # 2020-01-01, 2041-01-01
    print(f"# reference.py {seed} {n} {k}; ERFA {erfa.__version__}")
    points(rng, n, start, end)
    nights(rng, k, start, end)


if __name__ == "__main__":
    main()
