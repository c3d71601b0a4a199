"""Scaling as a stage of the walk: nine minerals, three places, the coldest and the hottest water.

Judged after ferric, dechlorination agent and acid, at the wall of the last element and at whichever age of the
membranes concentrates most there. Antiscalant is judged, not dosed, here: 'none needed' is an answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook.dosing import FEED_CHEMISTRY
from desalbook.plant.array import Array
from desalbook.plant.feedwater import FeedWater
from desalbook.product.quality import as_caco3, equivalents_as_caco3, langelier_index
from desalbook.tables import table
from desalbook.trail import (
    Choice,
    Column,
    Figure,
    assumed,
    checked,
    engine,
    govern,
    inputs_of,
    note,
    scope,
    values,
)
from desalbook.trail.corner import Corner
from desalbook.trail.inputs import Inputs
from desalbook.water import carbonate as cb
from desalbook.water import scaling as s
from desalbook.water.phreeqc import DATABASES, K_STRENGTHS, engine_record, saturation_k

__all__ = ["PLACES", "Scaling", "Strength", "saturation_line", "scaling", "scaling_limits", "strengths",
           "trade_indices"]

PLACES = (("feed", "Saturation index in the feed", "SI_f"), ("concentrate", "Saturation index in the concentrate",
                                                             "SI_c"),
          ("wall", "Saturation index, last-element wall", "SI_w"))
REMEDY = {
    "calcite": "lower membrane.recovery, or add acid (acid.present); acid lets more boron pass",
    "aragonite": "lower membrane.recovery, or add acid (acid.present); acid lets more boron pass",
    "gypsum": "lower membrane.recovery", "anhydrite": "lower membrane.recovery", "barite": "lower membrane.recovery",
    "celestite": "lower membrane.recovery", "fluorite": "lower membrane.recovery",
    "brucite": "keep the feed below pH 9", "silica": "lower membrane.recovery, or warm the water",
}


@dataclass(frozen=True)
class Strength:
    """How strong the water is at the end of the last element, at one temperature.

    Parameters
    ----------
    corner : str
        Case of the array that concentrates most at the wall.
    most : Figure
        Maximum concentration factor at the wall, the one that governs.
    polarisation, passage, mixing, top : Figure
        Polarisation there, passage of chloride, effective mixing, factor at the wall at the maximum recovery looked at.
    ions : Column
        Of the concentrate.
    asked : tuple
        What `judge` is asked: the feed and numbers.
    """

    corner: str
    most: Figure
    polarisation: Figure
    passage: Figure
    mixing: Figure
    top: Figure
    ions: Column
    asked: tuple[Any, ...]


@dataclass(frozen=True)
class Scaling:
    """What the scaling stage found.

    Parameters
    ----------
    indices : dict
        By temperature (``cold``, ``hot``) and place (``feed``, ``concentrate``, ``wall``): Column over minerals.
    worst, limit : dict of mineral to Figure
        Largest index at the wall, and the limit it is judged by.
    strong : dict of Strength
        By temperature.
    verdict, highest : dict
        The bare verdict and the indices at the maximum recovery looked at, by temperature.
    """

    indices: dict[str, dict[str, Column]]
    worst: dict[str, Figure]
    limit: dict[str, Figure]
    strong: dict[str, Strength]
    verdict: dict[str, s.Verdict]
    highest: dict[str, Column]


def strengths(inp: Inputs, fed: FeedWater, a: Array) -> dict[str, Strength]:
    """How strong the water grows in the array."""
    with scope("train", because=_steps(inp)):
        found = {key: _strength(inp, key, fed, a) for key in ("cold", "hot")}
    return found


def scaling(inp: Inputs, fed: FeedWater, a: Array, strong: dict[str, Strength]) -> Scaling:
    """Judge the scaling of the last element, warm and cold."""
    found = Scaling({}, {}, {}, strong, {}, {})
    with scope("train", because=_steps(inp)):
        for key in ("cold", "hot"):
            with scope(corner=key, because=[strong[key].most]):
                _temperature(key, fed, found)
        minerals = found.indices["hot"]["wall"].keys
        without = scaling_limits(inp, minerals, "without")
        with scope(because=[inp("antiscalant.present")]):
            limits = scaling_limits(inp, minerals, "with") if inp("antiscalant.present") == "yes" else without
            found.limit.update(limits)
            _checks(inp, found)
            for key in ("cold", "hot"):
                with scope(corner=key):
                    _recoveries(found, key, "limit", "its limit", limits)
            _antiscalant(inp, found, without)
        with scope(corner="hot"):
            trade_indices(inp, fed, a.recovery, found.verdict["hot"].concentrate.ph,
                          found.indices["hot"]["concentrate"])
    return found


def _steps(inp: Inputs) -> list[Choice]:
    """The choices that shape the feed."""
    return [inp(f"{n}.present") for n in FEED_CHEMISTRY]


def _strength(inp: Inputs, key: str, fed: FeedWater, a: Array) -> Strength:
    an = fed.waters.analysis
    walls, bulk, ends = {}, {}, {}
    for age in ("new", "aged"):
        corner = Corner(key, age)
        with scope(corner=corner):
            bulk[corner] = s.factor_of.at("scaling.concentration_factor", molality=an.molality["Cl"],
                                          concentrate_molality=a.concentrate_ions[corner]["Cl"])
            ends[corner] = s.polarisation_last.at("scaling.polarisation",
                                                  beta=a.by_corner[corner].figures["columns"]["beta"])
            walls[corner] = s.factor_at_wall.at("scaling.wall_factor", concentration_factor=bulk[corner],
                                                last_polarisation=ends[corner])
    with scope(corner=key):
        most = govern("scaling.wall_factor", walls, "largest", title="Concentration factor at the wall")
        won = next(corner for corner, factor in walls.items() if float(factor) == float(most))
    with scope(corner=key, because=[most]):
        ions, beta = a.concentrate_ions[won], ends[won]
        passage = s.passage_of.at("scaling.chloride_passage", permeate_molality=a.permeate_ions[won]["Cl"],
                                  molality=an.molality["Cl"])
        mixing = s.mixing_of_factor.at("scaling.mixing", concentration_factor=bulk[won], recovery=a.recovery,
                                       chloride_passage=passage)
        top = s.factor_of_recovery.at("scaling.factor_maximum", recovery=inp("scaling.maximum_recovery"),
                                      chloride_passage=passage, effective_mixing=mixing,
                                      title="Concentration factor, maximum recovery")
        top = s.factor_at_wall.at("scaling.wall_factor_maximum", concentration_factor=top, last_polarisation=beta)
    factors = {k: float(v) / float(an.molality[k]) if float(an.molality[k]) else 1.0 for k, v in ions.items()}
    asked = fed.water(key), float(fed.waters.at[key].temperature), factors, float(beta), float(top)
    return Strength(won, most, beta, passage, mixing, top, ions, asked)


def _temperature(key: str, fed: FeedWater, found: Scaling) -> None:
    strong, an, temperature = found.strong[key], fed.waters.analysis, fed.waters.at[key].temperature
    ions, beta = strong.ions, strong.polarisation
    verdict = s.judge(*strong.asked)
    minerals = verdict.minerals()
    chain = {k: v for k, v in fed.inputs.items()
             if k in ("molality", "ph") or (k in fed.amounts and not k.startswith("acid"))}
    if f"acid_{key}" in fed.inputs:
        chain["acid"] = fed.inputs[f"acid_{key}"]
    chain |= {"temperature": temperature, "laboratory": an.temperature}
    more = {"feed": {}, "concentrate": {"ions": ions}, "wall": {"ions": ions, "polarisation": beta}}
    found.indices[key] = {}
    for place, title, symbol in PLACES:
        state = getattr(verdict, place)
        found.indices[key][place] = saturation_line(f"scaling.{place}", title, symbol, minerals, state,
                                                    chain | more[place])
    at_top = saturation_line("scaling.highest", "Saturation index at the wall, at maximum", "SI_h",
                             minerals, verdict.highest, chain | more["wall"] | {"factor": strong.top})
    found.verdict[key], found.highest[key] = verdict, at_top
    _recoveries(found, key, "onset", "saturation", {})


def saturation_line(id: str, title: str, symbol: str, minerals: tuple[str, ...], state: Any,
                    inputs: dict[str, Any]) -> Column:
    """Saturation indices of one state of the water, an engine line by mineral."""
    about, other = engine_record("brine"), DATABASES["fresh"]
    swaps = "; ".join(f"{x.ion} stands as {x.by} ({x.share:.1e} of the charge)" for x in state.substitutions)
    return engine(id, [state.index(m) for m in minerals], "index", title=title, symbol=symbol, inputs=inputs,
                  axis="mineral", keys=minerals, library=about.library, version=about.library_version,
                  data=f"{about.database}; fluorite {other.file}", checksum=f"{about.sha256}; {other.sha256}",
                  source="phreeqc-2013",
                  note="log10(IAP/Ksp), nothing precipitates; carbon dioxide passes, so it does not concentrate"
                       + (f"; {swaps}" if swaps else ""))


def _recoveries(found: Scaling, key: str, name: str, what: str, levels: dict[str, Figure]) -> None:
    """Recovery at which each mineral's index at the wall reaches a level; zero is saturation."""
    verdict, places, strong = found.verdict[key], found.indices[key], found.strong[key]
    beta = strong.polarisation
    reached = {}
    for mineral in places["wall"].keys:
        factor = s.crossing(verdict.points(mineral), float(levels[mineral]) if levels else 0.0)
        if factor is not None:
            # a feed that is there already: the recovery is zero, the wall at its polarisation
            reached[mineral] = float(beta) if factor == 1.0 else factor
    if not reached:
        return
    about = engine_record("brine")
    at = engine(f"scaling.{name}_factor", list(reached.values()), "factor", symbol="CF_s", axis="mineral",
                keys=tuple(reached), title=f"Concentration factor at wall {what}",
                inputs={**places, "highest": found.highest[key], "factor": strong.top, "polarisation": beta,
                        **{f"limit_{m}": v for m, v in levels.items()}},
                library=about.library, version=about.library_version, data=about.database, checksum=about.sha256,
                source="phreeqc-2013", note="index over the logarithm of the factor through the engine's states; those "
                "not named are absent at the maximum recovery looked at")
    s.recovery_of_factor.at(f"scaling.{name}", wall_factor=at, last_polarisation=beta,
                            chloride_passage=strong.passage, effective_mixing=strong.mixing,
                            title=f"Recovery at wall {what}")


def scaling_limits(inp: Inputs, minerals: tuple[str, ...], which: str) -> dict[str, Figure]:
    """Limit of each mineral: the design's, or the table's."""
    written, data, made = inp(f"scaling.{which}_antiscalant"), table("scaling_limits"), {}
    product = inp.selected("antiscalant.product") if which == "with" else None
    sheet = inp(f"antiscalants[{product}].limits") if product is not None else None
    for mineral in minerals:
        if written is not None and mineral in written.keys:
            made[mineral] = written[mineral]
            continue
        if sheet is not None and mineral in sheet.keys:
            made[mineral] = sheet[mineral]
            continue
        row = data.row(mineral, "scaling")
        cell = row[which]
        made[mineral] = assumed(f"scaling.{mineral}.limit_{which}", cell.value, cell.kind, symbol=cell.symbol,
                                title=f"{cell.title}, {row.title.lower()}", text=cell.text, source=cell.source,
                                place=cell.place, table="scaling_limits", row=mineral)
    return made


def _checks(inp: Inputs, found: Scaling) -> None:
    warm = [inp(f"water.temperature_{key}") for key in ("cold", "hot")]
    for mineral, limit in found.limit.items():
        by = {key: found.indices[key]["wall"][mineral] for key in ("cold", "hot")}
        name = table("scaling_limits").row(mineral, "scaling").title
        found.worst[mineral] = govern(f"scaling.{mineral}", by, "largest", symbol="SI_w",
                                      title=f"Wall saturation index, {name.lower()}")
        checked(f"scaling.{mineral}.check", found.worst[mineral], "<=", limit,
                title=f"Saturation index, {name.lower()}",
                do=REMEDY[mineral], source="common-practice",
                caution="Scale can block the last elements beyond cleaning. The manufacturers of the element "
                        "and of the antiscalant "
                "state the binding limits.",
                decided_by=warm)


def _antiscalant(inp: Inputs, found: Scaling, without: dict[str, Figure]) -> None:
    """Whether it is needed at all, and whether it is enough."""
    present = inp("antiscalant.present")
    needed = [m for m, limit in without.items() if float(found.worst[m]) > float(limit)]
    beyond = [m for m, limit in found.limit.items() if float(found.worst[m]) > float(limit)]
    said = ", ".join(f"{m} {float(found.worst[m]):.2f} against {float(without[m]):.2f}" for m in needed)
    if not needed:
        verdict = "passes" if present != "yes" else "review"
        why = "none needed: every mineral stays within its limit without it"
        do = "omit antiscalant (antiscalant.present) if the membrane manufacturer confirms in writing"
    elif present != "yes":
        verdict, why = "fails", f"needed for {said}"
        do = "dose antiscalant (antiscalant.present), add acid (acid.present), or lower membrane.recovery"
    else:
        enough = "enough" if not beyond else f"not enough for {', '.join(beyond)}"
        verdict, why = "passes" if not beyond else "fails", f"needed for {said}; {enough}"
        do = "lower membrane.recovery, or add acid (acid.present)"
    note("scaling.antiscalant", title="Antiscalant", verdict=verdict, why=why, do=do,
         inputs={"present": present, **{f"index_{m}": v for m, v in found.worst.items()},
                 **{f"without_{m}": v for m, v in without.items()},
                 **{f"limit_{m}": v for m, v in found.limit.items()}})


def trade_indices(inp: Inputs, fed: FeedWater, recovery: Figure, concentrate_ph: Any, places: Column,
                  key: str = "hot") -> None:
    """Langelier and Stiff and Davis index of the concentrate at one temperature; for information, not judged.

    Parameters
    ----------
    recovery : Figure
    concentrate_ph : float
        As the engine found it.
    places : Column
        Saturation indices of the concentrate, whose inputs are those of its pH.
    key : {"cold", "design", "hot"}
        Temperature.
    """
    an = fed.waters.analysis
    if "Ca" not in an.molality:
        return
    about = engine_record("brine")
    said = {"library": about.library, "version": about.library_version, "data": about.database,
            "checksum": about.sha256, "source": "phreeqc-2013"}
    temperature = fed.waters.at[key].temperature
    ph = engine("scaling.ph", concentrate_ph, "ph.nbs", title="pH of the concentrate", symbol="pH_c",
                inputs=inputs_of(places), **said,
                note="activity scale, near a meter's reading; the data set is up to 0.07 high in seawater")
    strength = cb.strength_of.at("scaling.ionic_strength_feed", molality=an.molality, charge_number=an.charge,
                                      title="Ionic strength of the feed", symbol="I_f")
    solids = an.total_dissolved_solids
    strong = cb.concentrate_solids.at("scaling.concentrate_tds", total_dissolved_solids=solids,
                                           recovery=recovery)
    i_c = cb.concentrate_strength.at("scaling.ionic_strength", ionic_strength=strength, concentrate_tds=strong,
                                          total_dissolved_solids=solids)
    by_volume = {"recovery": recovery, "solute_passage": assumed(
        "scaling.solute_passage", 0.0, "fraction", title="Passage of calcium and alkalinity", symbol="SP",
        source="astm-d4582", place="7.1: may be taken as zero")}
    calcium = cb.concentrate_as_caco3.at("scaling.calcium", title="Calcium of the concentrate", symbol="Ca_c",
                                         **by_volume,
                                           feed_as_caco3=as_caco3.at(
        "scaling.calcium_feed", molality=an.molality["Ca"], water_content=fed.water_content))
    titrated = equivalents_as_caco3.at("scaling.alkalinity_feed", equivalents=fed.alkalinity[key],
                                       water_content=fed.water_content, title="Alkalinity of the feed, as CaCO3")
    alkalinity = cb.concentrate_as_caco3.at("scaling.alkalinity", feed_as_caco3=titrated, **by_volume,
                                              title="Alkalinity of the concentrate", symbol="Alk_c")
    if not (float(calcium) > 0.0 and float(alkalinity) > 0.0):
        note("scaling.indices", title="Langelier and Stiff and Davis index", verdict="review",
             why="without calcium or without alkalinity they have no value",
             do="see that water.ions[Ca], water.ions[HCO3] and water.ph are those of the analysis",
             inputs={"calcium": calcium, "alkalinity": alkalinity})
        return
    k = inp("scaling.stiff_davis_k")
    within = K_STRENGTHS[0] <= float(i_c) <= K_STRENGTHS[1]
    if k is None and not within:
        note("scaling.stiff_davis_range", title="Stiff and Davis index", verdict="passes",
             why=f"it is made for waters above 10 g/L of TDS; the ionic strength here is {i_c.show()}",
             do="take the Langelier index of this water, or set scaling.stiff_davis_k", inputs={"ionic_strength": i_c})
    elif k is None:
        k = engine("scaling.thermodynamic_k", saturation_k(float(i_c), float(temperature)), "factor", symbol="K",
                   title="K of the Stiff and Davis index, thermodynamic",
                   inputs={"ionic_strength": i_c, "temperature": temperature}, **said,
                   note="calcite in sodium chloride, not the standard's chart")
    if k is not None:
        cb.stiff_davis_index.at("scaling.stiff_davis", ph=ph, calcium=calcium, alkalinity=alkalinity,
                                stiff_davis_k=k)
    saturated = cb.simplified_saturation_ph.at("scaling.simplified_saturation_ph", calcium=calcium,
                                                    total_dissolved_solids=strong, temperature=temperature,
                                                    alkalinity=alkalinity)
    langelier_index.at("scaling.langelier", ph=ph, saturation_ph=saturated,
                       title="Langelier index of the concentrate")


def curves(found: Scaling, recovery: Figure, key: str = "hot", highest: float = 0.6,
           points: int = 13) -> dict[str, Any]:
    """Saturation index at the wall over recovery, of a sized plant; bare numbers for a picture.

    Parameters
    ----------
    found : Scaling
    recovery : Figure
        RO recovery, as sized.
    key : {"cold", "hot"}
    highest : float
        Maximum recovery drawn; no further than the maximum looked at.
    points : int

    Returns
    -------
    dict
        ``recovery`` (list), ``index`` (list by mineral), ``limit`` and ``worst`` (by mineral), ``design`` (recovery).
    """
    strong = found.strong[key]
    passage, mixing, beta = float(strong.passage), float(strong.mixing), float(strong.polarisation)
    with values(keep=False):
        end = float(s.recovery_of_factor.at("scaling.recovery", wall_factor=float(strong.top), last_polarisation=beta,
                                            chloride_passage=passage, effective_mixing=mixing))
    highest = end if end < highest else highest
    recoveries = [highest * i / (points - 1) for i in range(points)]
    index = s.over_recovery(found.verdict[key], passage=passage, mixing=mixing, polarisation=beta,
                            recoveries=recoveries)
    wall = found.indices[key]["wall"]
    return {"recovery": recoveries, "index": index, "limit": {m: float(v) for m, v in found.limit.items()},
            "worst": {m: float(wall[m]) for m in index}, "design": float(recovery)}
