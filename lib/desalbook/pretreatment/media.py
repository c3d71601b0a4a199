"""What the media do: three published losses side by side, the wash rates at which a bed fails, solids that fill it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from desalbook.hydraulics.pipes import Fluid
from desalbook.pretreatment import backwash_relations as b
from desalbook.pretreatment import media_relations as r
from desalbook.pretreatment import solve_bed
from desalbook.pretreatment.filters import Battery, Bed, Layers
from desalbook.pretreatment.schedule import Schedule
from desalbook.trail import Figure, assumed, checked, current, note, residual, scope, solved

__all__ = ["bed_limits", "filling", "losses", "underdrain"]

Inp = Callable[[str], Any]


def losses(of: Bed, rate: Figure, waters: Mapping[str, Fluid]) -> None:
    """Clean-bed loss by Carman-Kozeny and by Rose beside Ergun's, layer by layer, coldest and hottest water."""
    media = of.media
    for corner in ("cold", "hot"):
        with scope(corner=corner):
            reynolds = r.grain_reynolds.at(
                "filters.grain_reynolds", sphericity=media.sphericity, grain_size=media.effective_size,
                filter_rate=rate, density=waters[corner].density, viscosity=waters[corner].viscosity)
            shared = {"sphericity": media.sphericity, "settled_porosity": media.settled_porosity,
                      "depth": media.depth, "grain_size": media.effective_size, "filter_rate": rate}
            kozeny = r.kozeny_loss.at("filters.kozeny_loss_by_layer", reynolds=reynolds, **shared)
            drag = r.drag_of_grain.at("filters.grain_drag", reynolds=reynolds)
            rose = r.rose_loss.at("filters.rose_loss_by_layer", drag=drag, **shared)
            base = current()[f"filters.clean_head_loss@{corner}"]
            for name, by_layer, title in (("kozeny", kozeny, "Carman-Kozeny"), ("rose", rose, "Rose")):
                head = r.sum_of_layers.at(f"filters.{name}_loss", layer_head=by_layer,
                                          title=f"Head lost in clean layers, {title}")
                r.ratio_of_losses.at(f"filters.{name}_ratio", other_head=head, bed_head=base,
                                     title=f"{title} over Ergun on the effective size")


def _plain(layers: Layers) -> dict[str, np.ndarray]:
    return {k: getattr(layers, k).values for k in ("depth", "d60", "d90", "effective_size", "grain_density",
                                                   "settled_porosity")}


def bed_limits(inp: Inp, of: Bed, wash_rate: Figure, waters: Mapping[str, Fluid]) -> None:
    """Wash rates at which media reach the collector, and at which neighbouring layers change places."""
    fluid, freeboard, media = waters["cold"], inp("filters.freeboard"), of.media
    with scope(corner="cold"):
        root = solve_bed.rate_at_rise(_plain(media), float(freeboard), float(fluid.density), float(fluid.viscosity))
        if root is None:
            note("filters.loss_rate.note", title="Media reach the collector", verdict="holds",
                 why="no wash rate of any filter lifts the bed that far", do="",
                 inputs={"freeboard": freeboard, "depth": media.depth})
        else:
            _loss_rate(media, freeboard, wash_rate, fluid, root)
    for corner in ("cold", "hot"):
        with scope(corner=corner):
            _by_settling(media, wash_rate, waters[corner])
            for k in range(len(media.depth) - 1):
                _order(media, k, wash_rate, waters[corner])


def _by_settling(media: Layers, wash_rate: Figure, fluid: Fluid) -> None:
    """Rise of the bed by another published model, beside the one the checks use."""
    root = solve_bed.settle(media.d60.values, media.grain_density.values, media.sphericity.values,
                            float(fluid.density), float(fluid.viscosity))
    inputs = {"size": media.d60, "grain_density": media.grain_density, "sphericity": media.sphericity,
              "density": fluid.density, "viscosity": fluid.viscosity}
    velocity = solved("filters.settling", root, "filtration rate", title="Settling velocity of the grains, d60",
                      symbol="v_s", method="bisection", inputs=inputs, axis=media.d60.axis, keys=media.d60.keys)
    said = {"grain_size": media.d60, "filter_rate": velocity, "density": fluid.density, "viscosity": fluid.viscosity}
    drag = r.drag_of_grain.at("filters.settling_drag", reynolds=r.grain_reynolds.at(
        "filters.settling_reynolds", sphericity=media.sphericity, note="", **said))
    again = r.settling_of.at("filters.settling_by_drag", drag=drag, grain_size=media.d60,
                             grain_density=media.grain_density, density=fluid.density)
    residual(velocity, r.settling_left.at("filters.settling_left", settling_rate=again, wash_rate=velocity),
             float(np.max(root)), 1e-9)
    porosity = r.porosity_by_settling.at(
        "filters.settling_porosity", wash_rate=wash_rate, settling_rate=velocity,
        reynolds=r.sphere_reynolds.at("filters.settling_reynolds_sphere", **said),
        settled_porosity=media.settled_porosity)
    expansion = b.expansion_of.at("filters.settling_expansion", expanded_porosity=porosity,
                                  settled_porosity=media.settled_porosity)
    b.bed_rise_of.at("filters.settling_rise", depth=media.depth, expansion=expansion,
                     title="Rise of the bed by the settling of its grains")


def _loss_rate(media: Layers, freeboard: Figure, wash_rate: Figure, fluid: Fluid, root: float) -> None:
    rate = solved("filters.loss_rate", root, "filtration rate", title="Wash rate at which media reach the collector",
                  symbol="v_l", method="bisection",
                  inputs={"freeboard": freeboard, "depth": media.depth, "size": media.d60,
                          "grain_density": media.grain_density, "settled_porosity": media.settled_porosity,
                          "density": fluid.density, "viscosity": fluid.viscosity})
    porosity = _porosity("filters.loss_porosity", media, "d60", rate, fluid)
    expansion = b.expansion_of.at("filters.loss_expansion", expanded_porosity=porosity,
                                  settled_porosity=media.settled_porosity)
    rise = b.bed_rise_of.at("filters.loss_rise", depth=media.depth, expansion=expansion)
    left = r.freeboard_left.at("filters.loss_left", freeboard=freeboard, bed_rise=rise)
    residual(rate, left, float(freeboard), 1e-7)
    checked("filters.loss_rate.check", wash_rate, "<=", rate, title="Wash rate below the one that loses media",
            do="lower the wash rate in cold water, or give more freeboard",
            caution="media that reach the collector are lost")


def _porosity(id: str, media: Layers, size: str, rate: Figure, fluid: Fluid):
    sizes = getattr(media, size)
    galileo = b.galileo_of.at(f"{id}_galileo", grain_size=sizes, density=fluid.density,
                              grain_density=media.grain_density, viscosity=fluid.viscosity)
    reynolds = b.wash_reynolds.at(f"{id}_reynolds", density=fluid.density, wash_rate=rate, grain_size=sizes,
                                  viscosity=fluid.viscosity)
    return b.expanded_porosity_of.at(id, reynolds=reynolds, galileo=galileo, settled_porosity=media.settled_porosity)


def _order(media: Layers, k: int, wash_rate: Figure, fluid: Fluid) -> None:
    """Do two neighbours keep their order? Whole layers by d60; their ends, d90 over d10, mix sooner."""
    upper, lower = media.depth.keys[k], media.depth.keys[k + 1]
    what = {n: getattr(media, n) for n in ("grain_density", "settled_porosity")}
    for name, sizes, verdict in (("inversion", ("d60", "d60"), "fails"),
                                 ("mixing", ("d90", "effective_size"), "caution")):
        ends = [(float(getattr(media, size)[key]), float(media.grain_density[key]),
                 float(media.settled_porosity[key])) for size, key in zip(sizes, (upper, lower), strict=True)]
        inputs = {"upper": getattr(media, sizes[0])[upper], "lower": getattr(media, sizes[1])[lower], **what,
                  "density": fluid.density, "viscosity": fluid.viscosity}
        at = solve_bed.rate_at_equal_density(ends[0], ends[1], float(fluid.density), float(fluid.viscosity))
        words = {"inversion": "change places", "mixing": "mix at their border"}[name]
        title, id = f"{upper.capitalize()} over {lower}: layers {words}", f"filters.{name}[{upper}]"
        if at is None:
            note(f"{id}.note", title=title, verdict="holds", why="at no wash rate of any filter", do="",
                 inputs=inputs)
            continue
        if at == 0.0:
            note(f"{id}.note", title=title, verdict=verdict,
                 why=f"{upper} is the heavier even at rest: they {words} at once",
                 do="write the layers from the top down, the lightest grains first", inputs=inputs)
            continue
        rate = solved(f"{id}.rate", at, "filtration rate", title=f"Wash rate at which {upper} and {lower} {words}",
                      symbol="v_x", method="bisection on the density of the washed layers", inputs=inputs,
                      note="layers of one density change places")
        dense = []
        for key, size in ((upper, sizes[0]), (lower, sizes[1])):
            part = {n: getattr(media, n)[key] for n in ("grain_density", "settled_porosity")}
            grain = getattr(media, size)[key]
            galileo = b.galileo_of.at(f"{id}.galileo[{key}]", grain_size=grain, density=fluid.density,
                                      grain_density=part["grain_density"], viscosity=fluid.viscosity)
            reynolds = b.wash_reynolds.at(f"{id}.reynolds[{key}]", density=fluid.density, wash_rate=rate,
                                          grain_size=grain, viscosity=fluid.viscosity)
            porosity = b.expanded_porosity_of.at(f"{id}.porosity[{key}]", reynolds=reynolds, galileo=galileo,
                                                 settled_porosity=part["settled_porosity"])
            dense.append(r.bulk_density.at(f"{id}.density[{key}]", expanded_porosity=porosity,
                                           grain_density=part["grain_density"], density=fluid.density))
        left = r.equal_density_left.at(f"{id}.left", lower_density=dense[1], upper_density=dense[0])
        residual(rate, left, 1.0, 1e-7)
        if verdict == "fails":
            checked(f"{id}.check", wash_rate, "<=", rate, title=title,
                    do="choose a finer or lighter upper layer, a coarser lower one, or wash more slowly")
        else:
            _mixing(id, title, wash_rate, rate)


def _mixing(id: str, title: str, wash_rate: Figure, rate: Figure) -> None:
    mixes = float(wash_rate) > float(rate)
    note(f"{id}.note", title=title, verdict="caution" if mixes else "holds",
         why=f"coarse upper and fine lower grains weigh the same at {rate.show()}; the wash runs at {wash_rate.show()}",
         do="a border of some centimetres mixes in every wash and is usual; a sharper one wants finer upper grains"
         if mixes else "", inputs={"wash_rate": wash_rate, "rate": rate})


def underdrain(inp: Inp, of: Bed, wash_rate: Figure, fluid: Fluid) -> None:
    """Nozzle loss against the allowance in the wash pump's head; support over what lies on it; scour."""
    drop = r.nozzle_drop_of.at("filters.nozzle_drop", wash_rate=wash_rate, orifice_share=inp("filters.orifice_share"),
                               orifice_coefficient=inp("filters.orifice_coefficient"), density=fluid.density)
    checked("filters.nozzle_drop.check", inp("filters.underdrain_drop"), ">=", drop,
            title="Allowance for the underdrain covers its nozzles",
            do="raise filters.underdrain_drop, which is in the head of the wash pump, or open the underdrain")
    if of.support is not None:
        lowest, first = of.media.d90.keys[-1], of.support.effective_size.keys[0]
        step = r.support_step.at("filters.support_step", effective_size=of.support.effective_size[first],
                                 size_above=of.media.d90[lowest])
        most = assumed("filters.support_step_limit", 5, "factor", title="Coarsest support over d90 above it",
                       symbol="r_s", source="from-memory", place="filter rule of soil mechanics, 4 to 5")
        checked("filters.support_step.check", step, "<=", most, title=f"{first.capitalize()} holds back {lowest}",
                do="add a finer support layer")
    scour = inp("filters.scour")
    with scope(because=[scour]):
        if scour == "air-with-water":
            least = b.slowest.at("filters.scour_lift", wash_rate=current()["filters.fluidisation_rate@cold"],
                                 title="Least fluidisation of the layer that lifts first, coldest water")
            r.pulsing_rate.at("filters.scour_water_rate", air_scour_rate=inp("filters.scour_rate"),
                              fluidisation_rate=least)
        if scour != "none":
            depth = r.depth_of.at("filters.media_depth", depth=of.media.depth)
            enough = assumed("filters.scour_depth", 0.75, "length", title="Least depth that stands air",
                             symbol="L_a", source="davis-2010", place="Table 11-10: not where 0.75 m or less")
            checked("filters.scour_depth.check", depth, ">=", enough, title="Bed deep enough for air",
                    do="write filters.scour = none, or deepen the bed")


def filling(inp: Inp, of: Battery, plan: Schedule, clean_drop: Figure, density: Figure,
            coagulant_solids: Figure) -> Figure:
    """Run from the solids load, at usual and at worst water; turbidity of the filtrate.

    Parameters
    ----------
    clean_drop : Figure
        Coldest water, Pa.
    coagulant_solids : Figure
        kg/m3, zero without coagulant.

    Returns
    -------
    Figure
        Solids of the filtrate with usual water, kg/m3.
    """
    growth = r.growth_left.at("filters.loss_growth", filter_drop=inp("filters.dirty_drop"), clean_drop=clean_drop,
                              density=density)
    all_of = assumed("filters.solids_all", 1.0, "fraction", title="Worst water", symbol="x_u", source="definition")
    runs, filtrate = {}, coagulant_solids
    for name, share in (("usual", inp("filters.solids_share")), ("worst", all_of)):
        solids = r.solids_in.at(f"filters.solids_{name}", suspended_solids=inp("water.suspended_solids"),
                                solids_share=share, coagulant_solids=coagulant_solids,
                                title=f"Solids into the filters, {name}")
        caught = r.load_rate.at(f"filters.caught_{name}", filter_rate=of.rate, solids=solids,
                                removal=inp("filters.solids_removal"))
        if name == "usual":
            filtrate = r.solids_out.at("filters.filtrate_solids", solids=solids,
                                       removal=inp("filters.solids_removal"))
        if not caught.value:
            return filtrate
        runs[name] = r.run_by_load.at(f"filters.run_{name}", growth=growth, caught=caught,
                                      load_per_metre=inp("filters.load_per_metre"),
                                      title=f"Run until the loss is reached, {name} water")
        if name == "usual":
            r.captured.at("filters.solids_held", caught=caught, filter_run=plan.turns.run)
    checked("filters.run_usual.check", runs["usual"], ">=", plan.turns.run, title="Run before the loss is reached",
            do="wash more often, deepen or coarsen the bed, lower the rate, or write what the plant's water shows")
    checked("filters.run_worst.check", runs["worst"], ">=", current()["filters.turns_time"],
            title="Washes keep up with the worst water",
            do="more filters, a shorter wash, or less flow while the water is bad")
    turbidity = r.filtrate_turbidity_of.at("filters.filtrate_turbidity_result", turbidity=inp("water.turbidity"),
                                           turbidity_removal=inp("filters.turbidity_removal"))
    checked("filters.filtrate_turbidity.check", turbidity, "<=", inp("filters.filtrate_turbidity"),
            title="Turbidity of the filtrate, worst water", do="coagulate, filter more slowly, or filter twice")
    return filtrate
