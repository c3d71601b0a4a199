"""The duty: from what is guaranteed to what the membranes must give and take."""

from desalbook.duty.inputs import PRODUCT_USES, Duty, Project, Site
from desalbook.duty.relations import (
    feed_for,
    gross_permeate_of,
    item_of_own_use,
    net_of,
    own_use_of,
    plant_product,
    raw_to_product,
    recovery_of,
    reject_of,
    running_net,
    train_share,
)
from desalbook.duty.room import DutyFlows, TrainFlows, flows, plant_recovery, train_flows, train_recovery

__all__ = [
    "PRODUCT_USES",
    "Duty",
    "DutyFlows",
    "Project",
    "Site",
    "TrainFlows",
    "feed_for",
    "flows",
    "gross_permeate_of",
    "item_of_own_use",
    "net_of",
    "own_use_of",
    "plant_product",
    "plant_recovery",
    "raw_to_product",
    "recovery_of",
    "reject_of",
    "running_net",
    "train_flows",
    "train_recovery",
    "train_share",
]
