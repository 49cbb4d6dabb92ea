"""The four roles and what each may do.

A person holds one or more roles. Roles are plain data here, so that a test can read who may do what; the rest of the program
asks the usual way: ``user.has_perm("inventory.receive")``, ``{{ perms.inventory.receive }}``.
"""

from __future__ import annotations

import enum
from collections.abc import Mapping


class Role(enum.StrEnum):
    """A desk in the shop."""

    OFFICE = "office"
    ESTIMATOR = "estimator"
    FINISHER = "finisher"
    OWNER = "owner"

    @property
    def desk(self) -> str:
        """The name of the role's opening page."""
        return {
            "office": "buying desk",
            "estimator": "pricing desk",
            "finisher": "spray room",
            "owner": "owner’s desk",
        }[self.value]


class UnknownRoleError(ValueError):
    """A role that does not exist; the message lists those that do."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"There is no role “{name}”. The roles are: {', '.join(Role)}.")


def find_role(name: str) -> Role:
    """The role called ``name``; raises ``UnknownRoleError``."""
    try:
        return Role(name.strip().lower())
    except ValueError:
        raise UnknownRoleError(name) from None


_EVERYONE = frozenset({"inventory.view", "costing.view"})
_STOCK = frozenset({"inventory.receive", "inventory.issue", "inventory.return_stock", "inventory.write_off"})
_BUYING = frozenset(
    {
        "inventory.change_materials",
        "inventory.buy",
        "inventory.bring_in",
        "inventory.quarantine",
        "inventory.override_lot",
        "inventory.reverse",
        "inventory.count",
        "inventory.post_count",
    }
)
_PRICING = frozenset({"costing.estimate", "costing.quote", "costing.accept_quote", "costing.change_systems", "costing.see_costs"})

PERMISSIONS: Mapping[Role, frozenset[str]] = {
    Role.OFFICE: _EVERYONE | _STOCK | _BUYING | {"costing.see_costs", "costing.quote", "costing.accept_quote", "costing.recall"},
    Role.ESTIMATOR: _EVERYONE | _PRICING,
    Role.FINISHER: _EVERYONE
    | {"inventory.issue", "inventory.return_stock", "inventory.write_off", "inventory.count", "costing.log_work"}
    | {"costing.recall"},
    Role.OWNER: _EVERYONE
    | _STOCK
    | _BUYING
    | _PRICING
    | {"costing.log_work", "costing.recall", "finishing.change_shop", "finishing.manage_people"},
}
"""What each role may do:

``inventory.view`` see materials, suppliers and lots; ``inventory.receive`` book a delivery; ``inventory.issue``,
``inventory.return_stock``, ``inventory.write_off`` move stock; ``inventory.reverse`` post a counter-movement;
``inventory.override_lot`` issue an expired or quarantined lot with a reason; ``inventory.quarantine`` set a lot aside or free it;
``inventory.count`` open a count and enter what was found; ``inventory.post_count`` see its differences, post or cancel it;
``inventory.change_materials`` edit materials, suppliers and packs; ``inventory.buy`` see the reorder list, write purchase orders;
``inventory.bring_in`` bring in lists of materials, packs, opening stock and prices, and take them out;
``costing.view`` see systems and jobs; ``costing.see_costs`` see cost, margin and rates; ``costing.estimate`` make estimates;
``costing.change_systems`` edit setups, labour classes and systems; ``costing.quote`` write and send quotes;
``costing.accept_quote`` turn a quote into a job; ``costing.log_work`` log coats; ``costing.recall`` see whose work a lot
went into; ``finishing.change_shop`` the shop's settings;
``finishing.manage_people`` sign-ins and roles.
"""

ALL_PERMISSIONS = frozenset().union(*PERMISSIONS.values())


def permissions_of(roles: frozenset[Role]) -> frozenset[str]:
    """Everything that the holder of these roles may do."""
    return frozenset().union(*(PERMISSIONS[role] for role in roles)) if roles else frozenset()
