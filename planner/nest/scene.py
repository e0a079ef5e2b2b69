"""The problem as the search gets it: groups made one, pinned plates made beds."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely

from planner.nest.pinned import FixedPlate, begun, fixed_plates, standing_on
from planner.nest.table import Table
from planner.nest.terms import Terms
from planner.nest.together import Bundle, bundled, laid_on
from planner.settings.groups import joined_groups

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner.nest.model import Bed, Item, Placement, Wishes
    from planner.nest.terms import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """`items` and `beds` are those of the search.

    The first beds are the caller's, with as many plates as are left; then comes one bed for
    each of the `fixed` plates.  `bundles` maps an item of the search to what it stands for.
    `left_out` are copies that the search does not see: (item id, copies, why).
    """

    items: tuple[Item, ...]
    beds: tuple[Bed, ...]
    terms: Terms
    fixed: tuple[FixedPlate, ...]
    bundles: Mapping[str, Bundle]
    left_out: tuple[tuple[str, int, str], ...]
    kinds: int

    def standing_mm2(self, bed: int) -> float:
        """Return the area of the copies that stand on a bed already."""
        return float(sum(shapely.area(copy.region) for copy in self.terms.standing.get(bed, ())))

    @property
    def always(self) -> frozenset[int]:
        """The beds of fixed plates."""
        return frozenset(range(self.kinds, len(self.beds)))

    def members(self, item: str) -> Counter[str]:
        """Return how many copies of which items one copy of the search's item stands for."""
        bundle = self.bundles.get(item)
        return Counter({item: 1}) if bundle is None else Counter(p.id for p in bundle.members)


def scene_of(
    items: Sequence[Item],
    beds: Sequence[Bed],
    wishes: Wishes,
    *,
    clearance_mm: float,
    edge_mm: float,
) -> Scene:
    """Lay what is fixed, make groups one, and state the rest as a problem of its own."""
    stage = _Stage(items, beds, wishes, clearance_mm, edge_mm)
    for group in joined_groups(wishes.together):
        stage.take_group(group)
    return stage.scene()


class _Stage:
    """The scene in the making."""

    def __init__(
        self,
        items: Sequence[Item],
        beds: Sequence[Bed],
        wishes: Wishes,
        clearance_mm: float,
        edge_mm: float,
    ) -> None:
        self.known = {item.id: item for item in items}
        self.beds, self.wishes = tuple(beds), wishes
        self.clearance_mm, self.edge_mm = clearance_mm, edge_mm
        self.fixed = fixed_plates(beds, wishes)
        pinned = sum((plate.copies for plate in self.fixed), Counter[str]())
        self.loose = {item.id: item.quantity - pinned[item.id] for item in items}
        self.bundles: dict[str, Bundle] = {}
        self.left_out: list[tuple[str, int, str]] = []

    def take_group(self, group: Sequence[str]) -> None:
        """Lay a group that must share a plate; what is over of it is left out."""
        members = [
            replace(self.known[name], quantity=self.loose[name])
            for name in group
            if self.loose[name] > 0
        ]
        homes = [at for at, plate in enumerate(self.fixed) if plate.copies.keys() & set(group)]
        if not members or (not homes and sum(item.quantity for item in members) == 1):
            return
        for item in members:
            self.loose[item.id] = 0
        if homes:
            self._around_pins(homes[0], members)
        elif not self._as_one(members):
            self._on_a_plate(members)

    def _around_pins(self, home: int, members: Sequence[Item]) -> None:
        plate = self.fixed[home]
        standing = standing_on(plate, self.known)
        bed = begun(plate, self.beds, self.known)
        laid = self._laid_within_limits(members, bed, standing)
        if laid is None:
            why = _beyond(members, bed) or "no room"
            where = f"plate {plate.number} ({bed.id})"
            self._leave_out(members, f"{why} beside the pins of {where}, whose plate they share")
        else:
            self.fixed[home] = replace(plate, placements=(*plate.placements, *laid))

    def _as_one(self, members: Sequence[Item]) -> bool:
        bundle = bundled(members, self.beds, clearance_mm=self.clearance_mm, edge_mm=self.edge_mm)
        if bundle is None or not self._finds_a_bed(bundle.item):
            return False
        self.bundles[bundle.item.id] = bundle
        return True

    def _finds_a_bed(self, item: Item) -> bool:
        table = Table([item], self.beds, clearance_mm=self.clearance_mm, edge_mm=self.edge_mm)
        return any(table.fits_bed(0, bed) for bed in range(len(self.beds)))

    def _on_a_plate(self, members: Sequence[Item]) -> None:
        """Lay a group that is too large to be moved about onto the smallest bed that takes it."""
        used = Counter(plate.bed for plate in self.fixed)
        order = sorted(
            range(len(self.beds)), key=lambda at: self.beds[at].width_mm * self.beds[at].depth_mm
        )
        for at in order:
            bed = self.beds[at]
            if bed.count is None or used[at] < bed.count:
                laid = self._laid_within_limits(members, bed, ())
                if laid is not None:
                    self.fixed.append(FixedPlate(number=None, bed=at, placements=laid))
                    return
        names = " and ".join(item.id for item in members)
        copies = sum(item.quantity for item in members)
        why = f"no plate takes all {copies} copies of {names}, which must be together"
        beyond = {_beyond(members, bed) for bed in self.beds}
        if len(beyond) == 1:
            why += "".join(f": {limit}" for limit in beyond if limit)
        self._leave_out(members, why)

    def _laid_within_limits(
        self, members: Sequence[Item], bed: Bed, standing: Sequence[Standing]
    ) -> tuple[Placement, ...] | None:
        if _beyond(members, bed):
            return None
        return laid_on(members, bed, standing, clearance_mm=self.clearance_mm, edge_mm=self.edge_mm)

    def _leave_out(self, members: Sequence[Item], why: str) -> None:
        self.left_out += [(item.id, item.quantity, why) for item in members]

    def scene(self) -> Scene:
        """Return the scene as it stands now."""
        loose = [replace(item, quantity=self.loose[name]) for name, item in self.known.items()]
        items = (*loose, *(bundle.item for bundle in self.bundles.values()))
        used = Counter(plate.bed for plate in self.fixed)
        kinds = [
            bed if bed.count is None else replace(bed, count=bed.count - used[at])
            for at, bed in enumerate(self.beds)
        ]
        return Scene(
            items=items,
            beds=(*kinds, *(begun(plate, self.beds, self.known) for plate in self.fixed)),
            terms=self._terms(items),
            fixed=tuple(self.fixed),
            bundles=self.bundles,
            left_out=tuple(self.left_out),
            kinds=len(kinds),
        )

    def _terms(self, items: Sequence[Item]) -> Terms:
        names = [self._names(item.id) for item in items]
        foes = _foes(self.wishes.apart)
        nobody: frozenset[str] = frozenset()
        hostile = [nobody.union(*(foes.get(name, nobody) for name in own)) for own in names]
        rivals = {
            one: found
            for one, own in enumerate(hostile)
            if own
            for found in [frozenset(at for at, other in enumerate(names) if own & other)]
        }
        barred = {
            (item, len(self.beds) + at)
            for at, plate in enumerate(self.fixed)
            for item, own in enumerate(hostile)
            if own & plate.copies.keys()
        }
        standing = {
            len(self.beds) + at: standing_on(plate, self.known)
            for at, plate in enumerate(self.fixed)
        }
        return Terms(rivals=rivals, standing=standing, barred=frozenset(barred))

    def _names(self, item: str) -> frozenset[str]:
        bundle = self.bundles.get(item)
        return frozenset({item}) if bundle is None else frozenset(p.id for p in bundle.members)


def _beyond(members: Sequence[Item], bed: Bed) -> str:
    """Say which limit of a bed some copies break on one plate, or "" where they break none."""
    if any(item.height_mm > bed.height_mm for item in members):
        return "too tall"
    if sum(item.quantity * item.seconds for item in members) > bed.limit_s:
        return "too many hours"
    if sum(item.quantity * item.grams for item in members) > bed.limit_g:
        return "too much filament"
    if sum(item.quantity * item.parts for item in members) > bed.limit_parts:
        return "too many parts"
    return ""


def _foes(apart: Iterable[Sequence[str]]) -> dict[str, frozenset[str]]:
    """Return, for every item of a group, those that must not share its plate."""
    foes: dict[str, set[str]] = {}
    for group in apart:
        for name in group:
            foes.setdefault(name, set()).update(other for other in group if other != name)
    return {name: frozenset(others) for name, others in foes.items()}
