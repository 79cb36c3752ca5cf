"""Judged findings -> repair order: lines by rank, three Cs, questions, cautions, and every word accounted for."""

from __future__ import annotations

from dataclasses import asdict

from talkaround.judging import SHOWN, Asked, Judged
from talkaround.models import (
    SEVERITIES,
    Action,
    Because,
    ComponentRef,
    Concern,
    Condition,
    Customer,
    Evidence,
    Identifier,
    Line,
    Mend,
    Note,
    Odometer,
    PartRef,
    Position,
    RepairOrder,
    SetAside,
    Span,
    Steering,
    Vehicle,
)
from talkaround.order.cautions import cautions_for
from talkaround.order.coverage import less, merged, set_aside_rest
from talkaround.order.jobs import jobs_of
from talkaround.order.parts import parts_list
from talkaround.order.sentences import Sentences
from talkaround.order.shared import part_refs, questions_shown
from talkaround.order.summary import summary_of
from talkaround.reading.types import Identifier as ReadIdentifier
from talkaround.reading.types import Place, ReadNote, Reported
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.schema import Component


def assemble(
    note: Note, read: ReadNote, judged: list[Judged], asked: list[Asked], vocabulary: Vocabulary, steering: Steering
) -> RepairOrder:
    """Number the lines and put the order together. Pure; every word of the note ends in evidence or is set aside."""
    order = in_rank(judged, vocabulary)
    number = {n: k for k, n in enumerate(order, 1)}
    lines = [_line(number[n], judged[n], note, vocabulary) for n in order]
    sentences = Sentences(vocabulary, steering)
    told = _concerns_of(lines, read.reported, vocabulary)
    for line in lines:
        line.concern, line.cause, line.correction = sentences.three_cs(line, told.get(line.number, ()))
    concerns = [
        Concern(
            text=r.text,
            about=vocabulary.components[r.about].name if r.about in vocabulary.components else None,
            symptoms=r.symptoms,
            evidence=_evidence(r.spans, note),
        )
        for r in read.reported
    ]
    facts = read.vehicle
    vehicle = Vehicle(
        description=facts.description,
        vin=facts.vin,
        odometer=Odometer(value=facts.odometer[0], unit="km" if facts.odometer[1] == "km" else "mi")
        if facts.odometer
        else None,
        plate=facts.plate,
        identifiers=_identifiers(facts.identifiers),
        steering=steering,
        evidence=[Span(begin=b, end=e) for b, e in merged(facts.spans)],
    )
    customer = Customer(
        plan=facts.plan,
        parts_preference=facts.parts_preference,
        evidence=[Span(begin=b, end=e) for b, e in merged(facts.customer_spans)],
    )
    kept = [(e.begin, e.end) for line in lines for e in line.evidence]
    kept += [(e.begin, e.end) for concern in concerns for e in concern.evidence]
    kept += [(e.begin, e.end) for e in (*vehicle.evidence, *customer.evidence)]
    asides = [SetAside(begin=a.begin, end=a.end, reason=a.reason, note=a.note) for a in read.asides]  # type: ignore[arg-type]
    return RepairOrder(
        note=note,
        vehicle=vehicle,
        customer=customer,
        concerns=concerns,
        summary=summary_of(lines, sentences),
        lines=lines,
        parts=parts_list(lines, [judged[n] for n in order], read.deliveries, customer, vocabulary),
        jobs=jobs_of(lines, vocabulary),
        questions=questions_shown(asked, lambda judged: number[judged]),
        questions_left=max(0, len(asked) - SHOWN),
        set_aside=set_aside_rest(
            note.text,
            kept,
            less(note.text, asides, [(e.begin, e.end) for e in (*vehicle.evidence, *customer.evidence)]),
        ),
        mended=[Mend(**asdict(m)) for m in read.mends],
        cautions=cautions_for(lines, vocabulary, sentences.spelled),
    )


def in_rank(judged: list[Judged], vocabulary: Vocabulary) -> list[int]:
    """The indices of the findings as their lines stand on the order: gravest first, then by system, then as said."""
    systems = {s: n for n, s in enumerate(vocabulary.systems)}
    return sorted(
        range(len(judged)),
        key=lambda n: (
            SEVERITIES.index(judged[n].severity),
            systems.get(vocabulary.components[judged[n].finding.component].system, 99),
            judged[n].finding.spans[0][0] if judged[n].finding.spans else 0,
            n,
        ),
    )


def _line(number: int, j: Judged, note: Note, vocabulary: Vocabulary) -> Line:
    f = j.finding
    comp = vocabulary.components[f.component]
    part = vocabulary.components[j.part] if j.part else None
    return Line(
        number=number,
        component=ComponentRef(id=f.component, name=comp.name, system=comp.system),
        position=position_of(f.place),
        conditions=[Condition(id=c.id, degree=c.degree) for c in f.conditions] if j.severity != "good" else [],  # type: ignore[arg-type]
        measurements=j.measurements,
        identifiers=_identifiers(f.identifiers),
        severity=j.severity,
        severity_said=j.said,
        severity_by_book=j.by_book,
        action=Action(
            verb=j.verb,  # type: ignore[arg-type]
            part=PartRef(id=j.part, name=part.name) if j.part and part else None,
            quantity=f.quantity,
            also=part_refs(j.also, vocabulary),
            look_at=part_refs(j.look_at, vocabulary),
        ),
        work=f.work or "proposed",  # type: ignore[arg-type]
        basis=j.basis,
        evidence=_evidence(f.spans, note),
        because=[Because(field=w.field, rule=w.rule, text=w.text) for w in j.why],
    )


def _concerns_of(lines: list[Line], reported: list[Reported], v: Vocabulary) -> dict[int, list[str]]:
    """What the customer reported, by the number of the line that answers it: the part itself, else its system's first."""
    out: dict[int, list[str]] = {}
    for r in reported:
        about = v.components.get(r.about or "")
        faulty = [x for x in lines if x.severity != "good"]
        if about is None:
            continue
        of_it = [x for x in faulty if r.about in (x.component.id, *_around(v.components[x.component.id]))]
        of_it = of_it or [x for x in faulty if x.component.system == about.system]
        if of_it:
            out.setdefault(of_it[0].number, []).append(r.text)
    return out


def _around(component: Component) -> tuple[str, ...]:
    return (*((component.kind_of,) if component.kind_of else ()), *component.part_of)


def _identifiers(found: list[ReadIdentifier]) -> list[Identifier]:
    return [
        Identifier(kind=x.kind, value=x.value, meaning=x.meaning, evidence=Span(begin=x.begin, end=x.end))
        for x in found
    ]


def position_of(place: Place) -> Position:
    """The place as the contract writes it."""
    axle: str | int | None = int(place.axle) if place.axle and place.axle.isdigit() else place.axle
    return Position(
        axle=axle,  # type: ignore[arg-type]
        side=place.side,  # type: ignore[arg-type]
        level=place.level,  # type: ignore[arg-type]
        depth=place.depth,  # type: ignore[arg-type]
        end=place.end,  # type: ignore[arg-type]
        place=" ".join(place.extra) or None,
    )


def _evidence(spans: list[tuple[int, int]], note: Note) -> list[Evidence]:
    return [Evidence(begin=b, end=e, start_s=_time_of(b, note)) for b, e in merged(spans)]


def _time_of(begin: int, note: Note) -> float | None:
    for u in note.utterances:
        if u.begin <= begin < u.end:
            return u.start_s
    return None


__all__ = ["assemble", "in_rank", "position_of"]
