"""The duty: from what is guaranteed to what the membranes must give and take."""

from desalbook.duty.availability import Availability, availability
from desalbook.duty.flows import (
    DutyFlows,
    TrainFlows,
    feed_for,
    flow_of_trains,
    flows,
    gross_permeate_of,
    item_of_own_use,
    net_of,
    own_use_of,
    plant_recovery,
    recovery_of,
    train_flows,
    train_recovery,
)
from desalbook.duty.inputs import PRODUCT_USES, Duty, Guarantees, Project, Site

__all__ = [
    "PRODUCT_USES",
    "Availability",
    "Duty",
    "DutyFlows",
    "Guarantees",
    "Project",
    "Site",
    "TrainFlows",
    "availability",
    "feed_for",
    "flow_of_trains",
    "flows",
    "gross_permeate_of",
    "item_of_own_use",
    "net_of",
    "own_use_of",
    "plant_recovery",
    "recovery_of",
    "train_flows",
    "train_recovery",
]
