"""Taking a value of an item into the trial: the only one, or one of several to choose from."""

from __future__ import annotations

from tracker.services.views import ItemPage
from tracker.tui.host import Host
from tracker.tui.settable import Settable, settables, why_nothing

__all__ = ["offer_values"]


async def offer_values(host: Host, page: ItemPage) -> None:
    """Take a value of an item into the trial, or say why none can be tried."""
    found = settables(page)
    if not found:
        host.say(f"{page.key} cannot be tried: {why_nothing(page)}", "bad")
    elif len(found) == 1:
        await host.open_trial(found, found[0].address)
    else:
        by_address = {each.address: each for each in found}
        host.choose(
            f"Which value of {page.key} to try",
            [(each.address, "", each.address, _words(each)) for each in found],
            lambda address: host.open_trial((by_address[address],), address),
        )


def _words(what: Settable) -> str:
    return f"{what.title}, {what.shown or 'none yet'}" if what.options else what.shown
