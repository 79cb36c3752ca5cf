"""What the shop's lexicon could learn from the writers, and what else that would change."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from talkaround.desk import teach
from talkaround.desk.changes import CannotChange
from talkaround.desk.pages.common import FormDep, SeatDep, WriterDep, page, reader_of, text_of
from talkaround.vocabulary import LexiconError

router = APIRouter(include_in_schema=False)


@router.get("/teach")
def offered(request: Request, seat: SeatDep) -> Response:
    """The words that were mended often enough to be offered to the shop's lexicon."""
    reader = reader_of(request)
    return page(request, "teach.html", offers=teach.offers(request.app.state.store, reader.vocabulary), trial=None, trouble="",
                times=teach.TIMES, folder=reader.shop_folder)  # fmt: skip


@router.post("/teach")
def do(request: Request, seat: WriterDep, form: FormDep) -> Response:
    """Try a word over the stored notes, take it, or turn it down."""
    store, reader = request.app.state.store, reader_of(request)
    words, component, what = text_of(form, "words", 120), text_of(form, "component", 80), text_of(form, "do")
    offers = teach.offers(store, reader.vocabulary)
    offer = next((x for x in offers if (x.words, x.component) == (words, component)), None)
    if offer is None:
        raise CannotChange("that word is not offered: it was settled already, or was not mended often enough")
    try:
        if what == "try":
            tried = teach.trial(store, reader, words, component)
            return page(request, "teach.html", offers=[offer], trial=tried, trouble="", times=teach.TIMES,
                        folder=reader.shop_folder)  # fmt: skip
        teach.teach(store, reader, words, component, seat.account, take=what == "take")
    except (LexiconError, OSError) as error:
        return page(request, "teach.html", 400, offers=offers, trial=None, trouble=str(error), times=teach.TIMES,
                    folder=reader.shop_folder)  # fmt: skip
    return RedirectResponse("/teach", 303)


__all__ = ["router"]
