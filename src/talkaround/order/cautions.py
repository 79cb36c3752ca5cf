"""The usual cautions, only those that the lines call for; all defer to the maker's service information."""

from __future__ import annotations

from talkaround.models import Line, Steering

_ALWAYS = (
    "This order is made from spoken or typed notes. Check it against the vehicle. The maker's service information, "
    "local codes and licensed practice come first."
)

_UNDER_THE_VEHICLE = {
    "brakes", "air-brakes", "suspension", "steering", "tires-and-wheels", "driveline", "running-gear", "chassis",
}  # fmt: skip


def cautions_for(lines: list[Line], steering: Steering) -> list[str]:
    """Cautions for the lines that are still to be worked on, most pressing first."""
    todo = [x for x in lines if x.severity != "good"]
    systems = {x.component.system for x in todo}
    tires = "tires" if steering == "left-hand" else "tyres"
    out: list[str] = []
    if any(x.severity == "unsafe" and x.work != "done" for x in lines):
        out.append("The vehicle must not be driven until the lines marked unsafe are put right.")
    if systems & {"high-voltage"}:
        out.append(
            "High voltage: only trained and equipped people work on it, "
            "made dead and locked out by the maker's procedure."
        )
    if systems & {"restraints-and-seats"} or any("airbag" in x.component.id for x in todo):
        out.append("Airbags and belt tensioners: make the system safe by the maker's procedure before work.")
    if any(
        x.component.id.startswith(("refrigerant", "air-conditioning", "ac-")) or "refrigerant" in x.component.id
        for x in todo
    ):
        out.append(
            "Refrigerant is under pressure and may be recovered only by certified people with the right equipment."
        )
    if systems & {"fuel"}:
        out.append("Fuel: relieve the pressure, keep fire and sparks away, and have an extinguisher at hand.")
    if systems & {"cooling", "exhaust-and-emissions"}:
        out.append(
            "Hot and pressurized parts: let them cool before opening."
            if steering == "left-hand"
            else "Hot and pressurised parts: let them cool before opening."
        )
    if systems & {"air-brakes"}:
        out.append("Air brakes: chock the wheels, drain the air, and cage spring brakes before work.")
    if systems & _UNDER_THE_VEHICLE:
        out.append(
            "Lift and support the vehicle at the maker's points, tighten wheels and fasteners to the maker's torque, "
            f"set {tires} to the placard, and road test before handing back."
        )
    out.append(_ALWAYS)
    return out
