"""Plants to draw: four samples that differ in the recovery device, and plausible random ones.

Invented figures, only mutually plausible; no plant is meant.
"""

from __future__ import annotations

import random

from desalbook.drawings.water_line.stops import RECOVERIES, Line, Stop


def stop(key: str, title: str, bar: float, m3h: float, gkg: float, kind: str, note: str = "") -> Stop:
    return Stop(key, title, bar * 1e5, m3h / 3600, gkg / 1000, kind, note)


def sample(recovery: str, product: float = 1.2) -> Line:
    """Feed 238 m3/h of 36 g/kg, product 100 m3/h, 66.8 bar at the vessels."""
    feed = [stop("sea", "sea", 0, 238, 36, "sea"), stop("storage", "storage tank", 0.3, 238, 36, "tank"),
            stop("feed", "feed pump", 4.1, 238, 36, "pump"),
            stop("filters", "media filters", 3.2, 238, 36, "resistance"),
            stop("cartridge", "cartridge filters", 2.6, 238, 36, "resistance")]
    vessels = stop("vessels", "vessels", 65.4, 238, 36, "vessels")
    outfall, branch = stop("outfall", "outfall", 0, 138, 62, "outfall"), None
    if recovery == "in-feed":
        feed += [stop("hp", "HP pump", 41.5, 238, 36, "pump"),
                 stop("device", "turbocharger", 66.8, 238, 36, "recovery")]
        first = stop("device", "turbocharger", 0.6, 138, 62, "recovery", "gives 25.3 bar to the feed")
    elif recovery == "branch":
        feed += [stop("hp", "HP pump", 66.8, 102, 36, "pump")]
        branch = [stop("device", "isobaric ERD", 63.8, 136, 38, "recovery"),
                  stop("booster", "booster pump", 66.8, 136, 38, "pump")]
        first = stop("device", "isobaric ERD", 0.9, 138, 62, "recovery", "gives 61.2 bar to the feed")
    else:
        feed += [stop("hp", "HP pump", 66.8, 238, 36, "pump")]
        first = (stop("device", "Pelton turbine", 0, 138, 62, "recovery", "gives 210 kW to the shaft")
                 if recovery == "shaft" else stop("valve", "control valve", 0.5, 138, 62, "resistance"))
    chemicals = [("sea", "sodium hypochlorite", "2.0 mg/L"), ("feed", "ferric chloride", "3.0 mg/L"),
                 ("filters", "sodium bisulfite", "3.4 mg/L"), ("filters", "antiscalant", "2.5 mg/L")]
    return Line([*feed, vessels], [stop("product", "product", product, 100, 0.28, "product")],
                [first, outfall], branch, chemicals, recovery)


_PRE = (("intake screen", "resistance"), ("raw water tank", "tank"), ("clarified water basin", "tank"),
        ("dual media filters", "resistance"), ("second stage media filters", "resistance"),
        ("ultrafiltration", "resistance"), ("cartridge filters", "resistance"),
        ("filtered water tank", "tank"))
_POST = (("limestone contactors", "resistance"), ("degasser", "tank"), ("product water tank", "tank"),
         ("transfer pump", "pump"), ("ultraviolet disinfection", "resistance"))
_CHEMICALS = (("sodium hypochlorite", "2.0 mg/L"), ("ferric chloride", "3.5 mg/L"), ("polymer", "0.3 mg/L"),
              ("sulphuric acid", "35 mg/L"), ("sodium metabisulphite", "4.1 mg/L"),
              ("antiscalant", "2.4 mg/L"), ("sodium hydroxide soda", "12 mg/L"),
              ("carbon dioxide", "28 mg/L"), ("corrosion inhibitor", "1.0 mg/L"))


def plausible(seed: int) -> Line:
    """A random plant: other steps, sizes, pressures, chemicals and recovery device for every seed."""
    rnd = random.Random(seed)
    recovery = RECOVERIES[seed % 4]
    flow, salt, share = 10 ** rnd.uniform(0.7, 4.0), rnd.uniform(18, 46), rnd.uniform(0.3, 0.55)
    product, reject = flow * share, flow * (1 - share)
    strong, top = salt / (1 - share), rnd.uniform(38, 82)
    name = rnd.choice(("sea", "beach well", "open intake"))
    feed = [stop("sea", name, rnd.uniform(-0.5, 0.2), flow, salt, "sea")]
    bar = feed[0].pressure / 1e5
    pump = rnd.randint(0, 2)
    for i, (title, kind) in enumerate(sorted(rnd.sample(_PRE, rnd.randint(0, 5)), key=_PRE.index)):
        if i == pump:
            bar = rnd.uniform(2.5, 7)
            feed.append(stop("feed", "feed pump", bar, flow, salt, "pump"))
        bar = rnd.uniform(0.1, 0.5) if kind == "tank" else max(0.1, bar - rnd.uniform(0.1, 1.0))
        feed.append(stop(f"pre{i}", title, bar, flow, salt, kind))
    branch = None
    if recovery == "in-feed":
        boost = rnd.uniform(0.25, 0.42) * top
        feed += [stop("hp", "HP pump", top - boost, flow, salt, "pump"),
                 stop("device", "turbocharger", top, flow, salt, "recovery")]
    elif recovery == "branch":
        feed.append(stop("hp", "HP pump", top, flow - reject, salt, "pump"))
        gained = top - rnd.uniform(2, 4)
        branch = [stop("device", "isobaric ERDs", gained, reject, salt * 1.04, "recovery"),
                  stop("booster", "booster pump", top, reject, salt * 1.04, "pump")]
    else:
        feed.append(stop("hp", "HP pump", top, flow, salt, "pump"))
    end = top - rnd.uniform(0.8, 2.2)
    feed.append(stop("vessels", rnd.choice(("vessels", "vessels (7 elements)")), end, flow, salt, "vessels"))
    low = 0.0 if recovery == "shaft" else rnd.uniform(0.2, 1.5)
    back = [stop("valve", "control valve", low, reject, strong, "resistance") if recovery == "valve" else
            stop("device", {"in-feed": "turbocharger", "branch": "isobaric ERDs",
                            "shaft": "Pelton turbine"}[recovery], low, reject, strong, "recovery",
                 rnd.choice(("", f"gives {0.4 * end:.3g} bar to the feed")))]
    if rnd.random() < 0.3:
        back.append(stop("diffuser", "neutralisation basin", low / 2, reject, strong, "tank"))
    back.append(stop("outfall", rnd.choice(("outfall", "brine outfall")), 0, reject, strong, "outfall"))
    post, bar = [], rnd.uniform(0.8, 2.0)
    for i, (title, kind) in enumerate(sorted(rnd.sample(_POST, rnd.randint(0, 3)), key=_POST.index)):
        bar = rnd.uniform(2, 6) if kind == "pump" else max(0.1, bar - rnd.uniform(0.1, 0.6))
        post.append(stop(f"post{i}", title, bar, product, 0.3, kind))
    post.append(stop("product", rnd.choice(("product", "to supply")), bar, product, 0.3, "product"))
    keys = [s.key for s in (*feed, *post) if s.kind != "vessels"]
    dosed = [(rnd.choice(keys), *c) for c in rnd.sample(_CHEMICALS, rnd.randint(0, 7))]
    return Line(feed, post, back, branch, dosed, recovery)
