"""The pages of inspectors and repairers."""

from __future__ import annotations

from django.urls import path, register_converter

from shop.inspection import (
    boxing,
    comparing,
    deciding,
    docking,
    found,
    looking,
    noting,
    racking,
    releasing,
    repairing,
    slot_pages,
    slots,
)


class SlotCode:
    """What a slot of the hold rack is called."""

    regex = "H-[0-9]{3}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


register_converter(SlotCode, "slot")

app_name = "inspection"

urlpatterns = [
    path("<tag:code>/look/", looking.look, name="look"),
    path("<tag:code>/look/values/", looking.values, name="look-values"),
    path("<tag:code>/look/<int:area>/", looking.look_area, name="look-area"),
    path("<tag:code>/defects/", found.defects, name="defects"),
    path("<tag:code>/defects/new/", noting.note, name="note"),
    path("<tag:code>/defects/<int:number>/decide/", deciding.decide, name="decide"),
    path("<tag:code>/defects/<int:number>/withdraw/", deciding.withdraw, name="withdraw"),
    path("repairs/", repairing.repairs, name="repairs"),
    path("repairs/list.csv", repairing.repairs_csv, name="repairs-csv"),
    path("<tag:code>/looks/", comparing.looks, name="looks"),
    path("<tag:code>/release/", releasing.release, name="release"),
    path("<tag:code>/box/", boxing.box, name="box"),
    path("dock/", docking.dock, name="dock"),
    path("dock/hand/", docking.hand, name="hand-over"),
    path("dock/list.csv", docking.dock_csv, name="dock-csv"),
    path("dock/<str:manifest>/", docking.manifest, name="manifest"),
    path("dock/<str:manifest>/list.csv", docking.manifest_csv, name="manifest-csv"),
    path("rack/", racking.rack, name="rack"),
    path("rack/list.csv", racking.rack_csv, name="rack-csv"),
    path("rack/slots/", slots.slots, name="slots"),
    path("rack/<slot:slot>/", slot_pages.slot, name="slot"),
    path("<tag:code>/rack/", slot_pages.case_in, name="case-in"),
    path("<tag:code>/rack/out/", slot_pages.case_out, name="case-out"),
]
