"""The chains of the demo programme, followed through the command line from cause to price.

Each starts from one edit; what follows is nobody's typing but the checks'. Directions and limits
are those of the trade (common practice, elementary mechanics) or worked out by hand beside them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import pytest

from tests.integration.demo.conftest import Cli

WHY = "to see what it would do"
HIGH = "D-TIE-ROD/two-high.tie_rod_outer=[-140, 665, {}] mm"
SLICE = "D-LINK/s36x16.link_thickness={} mm"


@dataclass(frozen=True)
class Trial:
    """What a trial answered."""

    told: dict[str, Any]

    @property
    def broken(self) -> set[str]:
        return set(self.told["broken"])

    def verdict(self, requirement: str) -> str:
        return str(self._after(requirement)["verdict"])

    def found(self, requirement: str) -> Any:  # noqa: ANN401 - number, text or flag
        return self._after(requirement)["value"]

    def _after(self, requirement: str) -> dict[str, Any]:
        findings = self.told["findings"]
        return next(each["after"] for each in findings if each["requirement"] == requirement)

    def text(self, quantity: str) -> str:
        quantities = self.told["quantities"]
        return str(next(each["after"] for each in quantities if each["key"] == quantity))

    def number(self, quantity: str) -> float:
        return float(self.text(quantity))

    def moved(self) -> set[str]:
        return {each["key"] for each in self.told["quantities"]}


def trial(cli: Cli, *edits: str) -> Trial:
    return Trial(cli("try", *edits))


def value(cli: Cli, key: str) -> Any:  # noqa: ANN401 - whatever kind the quantity has
    return cli("show", key)["value"]


def verdict(cli: Cli, requirement: str) -> str:
    lines = cli("status")["requirements"]
    return str(next(each["verdict"] for each in lines if each["key"] == requirement))


class TestAQuickGearIsPaidForWithRollUndersteer:
    """Gear → response → tie-rod joint → roll understeer → response, and the price of it."""

    def test_the_joint_as_drawn_leaves_the_response_too_sharp(self, cli: Cli) -> None:
        assert verdict(cli, "SENS") == "tight"
        low = trial(cli, HIGH.format(250))
        assert low.verdict("SENS") == "missed"
        assert low.broken == {"D-TIE-ROD"}
        assert low.found("SENS") > 1.5 > value(cli, "sensitivity")

    def test_raising_it_makes_roll_understeer_and_calms_the_response(self, cli: Cli) -> None:
        rises = [trial(cli, HIGH.format(height)) for height in (250, 252, 256, 258)]
        understeer = [each.number("roll_steer_front") for each in rises]
        response = [each.found("SENS") for each in rises]
        assert understeer == sorted(understeer)  # rack behind: higher is more understeer
        assert response == sorted(response, reverse=True)
        # all of it through roll: the ratio hardly moves
        assert all(each.found("RATIO") == pytest.approx(15.05, abs=0.02) for each in rises)

    def test_the_price_shows_in_toe(self, cli: Cli) -> None:
        """A steeper toe curve drags the tyre in bump, a bent one pulls the vehicle off its line."""
        price = ("BUMP-TOE", "TOE-WEAR", "TOE-STRAIGHT")
        assert {verdict(cli, each) for each in price} == {"met"}
        higher = trial(cli, HIGH.format(256))
        assert higher.verdict("SENS") == "met"
        assert {higher.verdict(each) for each in price} == {"missed"}

    def test_a_slower_gear_needs_none_of_it(self, cli: Cli) -> None:
        cli("reopen", "D-GEAR", "--why", WHY)
        slower = trial(cli, "--lean", "D-GEAR=c")
        assert slower.verdict("SENS") == "met"
        # at the same tie rods the ratio goes with the rack's travel per turn
        assert slower.found("RATIO") == pytest.approx(value(cli, "ratio_on_centre") * 58 / 50)
        assert {slower.verdict("GEAR-COST"), slower.verdict("GEAR-LEAD")} == {"missed"}
        assert slower.found("PARKING") < value(cli, "parking_torque")

    def test_the_ground_of_what_is_settled_on_it_would_shift(self, cli: Cli) -> None:
        look = trial(cli, HIGH.format(256)).told["look"]
        assert set(look) == {"D-LOWER-ARM", "D-GEAR", "D-JOINT"}


class TestASplitArmMakesRoomForTheDisc:
    """Two links → virtual joint outboard of the real ones → disc inboard → larger disc."""

    def test_the_axis_passes_outboard_of_both_joints(self, cli: Cli) -> None:
        joints = [value(cli, f"lower_{link}_outer")[1] for link in ("front", "rear")]
        outboard = value(cli, "axis_lower")[1] - max(joints)
        assert outboard > 40
        # the spindle leans by camber and toe of a third of a degree: the room along it is that
        assert value(cli, "disc_room") == pytest.approx(outboard, abs=0.2)
        assert value(cli, "axis_from_links") < 1
        assert verdict(cli, "SCRUB") == "met"

    def test_one_joint_on_the_axis_leaves_no_place_for_that_disc(self, cli: Cli) -> None:
        cli("reopen", "D-LOWER-ARM", "--why", WHY)
        one = trial(cli, "--lean", "D-LOWER-ARM=one-piece")
        assert one.verdict("JOINT-GAP") == "missed"
        assert one.verdict("SCRUB") == "met"  # the same axis
        assert one.number("disc_room") == pytest.approx(0)
        assert {"D-LOWER-ARM", "D-BRAKE"} <= one.broken

    def test_nor_do_real_joints_moved_out_to_where_it_was(self, cli: Cli) -> None:
        cli("reopen", "D-LOWER-ARM", "--why", WHY)
        out = trial(
            cli,
            "D-LOWER-ARM/split.lower_front_outer=[10, 719, 207] mm",
            "D-LOWER-ARM/split.lower_rear_outer=[-52, 728, 207] mm",
        )
        assert out.found("SCRUB") < 0  # their lines now cross outboard of the tyre's middle
        assert {out.verdict("SCRUB"), out.verdict("JOINT-GAP")} == {"missed"}

    def test_the_room_gains_diameter_through_the_profile_of_the_barrel(self, cli: Cli) -> None:
        """Past the well the barrel is 183.8 mm, on its floor 175 mm: twice the difference."""
        gain = 2 * (183.8 - 175)
        assert value(cli, "disc_gain") == pytest.approx(gain)
        straight = trial(cli, "rim_barrel=[[-122, 183.8], [42, 183.8]]")
        assert straight.number("disc_gain") == pytest.approx(0)

    def test_the_same_disc_further_outboard_meets_the_rim(self, cli: Cli) -> None:
        cli("reopen", "D-BRAKE", "--why", WHY)
        assert trial(cli, "--lean", "D-BRAKE=d302-out").verdict("RIM-GAP") == "missed"
        largest = value(cli, "largest_disc")
        grown = trial(cli, f"D-BRAKE/d302.disc_diameter={largest} mm")
        assert grown.found("RIM-GAP") == pytest.approx(3)  # the clearance it was asked with
        larger = trial(cli, f"D-BRAKE/d302.disc_diameter={largest + 1} mm")
        assert larger.verdict("RIM-GAP") == "missed"


class TestATallerKnuckle:
    """Joint spacing up → joint forces down → room under the wing, or not."""

    HEIGHTS = ("short", "medium", "tall")

    def heights(self, cli: Cli) -> list[Trial]:
        cli("reopen", "D-KNUCKLE", "--why", WHY)
        return [trial(cli, "--lean", f"D-KNUCKLE={each}") for each in self.HEIGHTS[1:]]

    def test_spreads_the_joints_and_unloads_them(self, cli: Cli) -> None:
        spacing, force = value(cli, "joint_spacing"), value(cli, "upper_force_per_kn")
        for taller in self.heights(cli):
            # a lever: the same moment over a longer arm, the lower end staying where it is
            expected = force * spacing / taller.number("joint_spacing")
            assert taller.number("upper_force_per_kn") == pytest.approx(expected, rel=0.01)
            assert taller.number("joint_spacing") > spacing
            assert taller.found("UPPER-JOINT") < value(cli, "upper_joint_force")
            assert taller.found("LOWER-JOINT") < value(cli, "lower_joint_force")

    def test_ends_under_the_wing_or_in_it(self, cli: Cli) -> None:
        medium, tall = self.heights(cli)
        tops = {"medium": 557, "tall": 718}  # mm above the ground, at design
        room = {each: 790 - (top + 80 + 34) for each, top in tops.items()}
        assert medium.found("WING-GAP") == pytest.approx(room["medium"])
        assert tall.found("WING-GAP") == pytest.approx(room["tall"])
        assert (medium.verdict("WING-GAP"), tall.verdict("WING-GAP")) == ("met", "missed")

    def test_pays_with_camber_mass_and_tools(self, cli: Cli) -> None:
        _, tall = self.heights(cli)
        price = ("CAMBER-GAIN", "KNUCKLE-MASS", "TOOL-KNUCKLE", "TOOLING")
        assert {tall.verdict(each) for each in price} == {"missed"}
        assert {"D-KNUCKLE", "D-SUBFRAME"} <= tall.broken


class TestOnePartForBothSidesAndACutProfile:
    """Turn-over → one die → budget; and the volume at which a forging overtakes the saw."""

    def test_the_turn_over_is_found(self, cli: Cli) -> None:
        assert value(cli, "upper_arm_turns") is True
        assert value(cli, "upper_arm_is_flat") is True  # shared by geometry: check tapers
        ahead, aside, _ = value(cli, "upper_arm_turn_axis")
        assert ahead == pytest.approx(1, abs=0.002)  # about the pivots' line
        assert aside == pytest.approx(0, abs=1e-9)
        assert 170 < value(cli, "upper_arm_turn") < 180

    def test_a_crank_out_of_the_plane_costs_a_second_die(self, cli: Cli) -> None:
        cli("reopen", "D-UPPER-ARM", "--why", WHY)
        handed = trial(cli, "--lean", "D-UPPER-ARM=handed")
        assert handed.found("UPPER-TURNS") is False
        assert handed.found("TOOL-UPPER") == 2 * 128_000
        assert handed.found("TOOLING") == 534_800 + 128_000
        assert handed.broken == {"D-UPPER-ARM", "D-SUBFRAME"}
        assert value(cli, "upper_arm_saved") == 128_000

    def test_a_forging_instead_of_the_saw_breaks_the_budget(self, cli: Cli) -> None:
        cli("reopen", "D-REAR-LINKS", "--why", WHY)
        forged = trial(cli, "--lean", "D-REAR-LINKS=forged")
        assert forged.found("TOOL-LINKS") == 61_000 + 44_000
        assert forged.verdict("TOOLING") == "missed"

    def test_the_choice_flips_with_the_volume(self, cli: Cli) -> None:
        """Tools of one set each over what a piece costs more, four pieces and six years."""
        cut = 1.7 + 0.30 * 6.2 / 0.88 + 62 / 12
        forged = 1.7 + 0.25 * 5.4 / 0.75 + 115 / 22.5
        flip = (62_000 - 4_000) / (cut - forged) / (4 * 6)
        assert value(cli, "link_flip_volume") == pytest.approx(flip)
        assert verdict(cli, "LINK-PROCESS") == "met"
        below = trial(cli, f"VOL.lower={flip - 5:.0f}")
        above = trial(cli, f"VOL.lower={flip + 5:.0f}")
        assert "D-REAR-LINKS" not in below.broken
        assert above.found("LINK-PROCESS") == "forging"
        assert "D-REAR-LINKS" in above.broken


class TestTheIntegralLink:
    """Where it stands sets its sign in braking and drive, and how far the knuckle winds up."""

    def test_ahead_of_a_low_joint_braking_and_motor_push_it(self, cli: Cli) -> None:
        assert value(cli, "integral_layout") == "ahead-below"
        assert value(cli, "braking_sense") == "compression"
        assert value(cli, "motor_sense") == "compression"
        # about the lower joint the brake at the ground has more lever than the motor at the hub
        assert value(cli, "integral_in_braking") < value(cli, "integral_in_drive") < 0

    def test_behind_it_every_sign_turns_round(self, cli: Cli) -> None:
        behind = trial(cli, "--lean", "D-INTEGRAL=behind")
        assert behind.text("braking_sense") == behind.text("motor_sense") == "tension"
        assert behind.number("integral_in_braking") > 0 > value(cli, "integral_in_braking")
        assert behind.verdict("REAR-TOE") == "missed"  # why it was not taken

    def test_a_short_lever_lets_the_knuckle_wind_up(self, cli: Cli) -> None:
        close = trial(cli, "--lean", "D-INTEGRAL=close")
        assert {close.verdict("WIND-UP"), close.verdict("INTEGRAL-FORCE")} == {"missed"}
        lever = 60 / 130  # the upper links, nearly square to the vehicle, take little of it
        force = value(cli, "integral_in_braking") / close.number("integral_in_braking")
        assert force == pytest.approx(lever, rel=0.02)

    def test_soft_bushes_do_too(self, cli: Cli) -> None:
        assert verdict(cli, "WIND-UP") == "met"
        soft = trial(cli, "integral_rate=4000 N/mm")
        assert soft.verdict("WIND-UP") == "missed"
        assert soft.broken == {"D-INTEGRAL"}

    def test_its_rear_wheel_answers_for_roll_and_response(self, cli: Cli) -> None:
        assert {"roll_steer_rear", "rear_roll_centre", "roll_gradient", "sensitivity"} <= trial(
            cli, "--lean", "D-REAR-PIVOT=as-drawn"
        ).moved()


class TestMassMoves:
    """Mass → wheel loads → joint forces → strength of a link → its mass."""

    def test_payload_reaches_the_link(self, cli: Cli) -> None:
        heavier = trial(cli, "gross_mass=2600 kg")
        grown = 2600 / 2300
        assert heavier.number("fz_static") == pytest.approx(value(cli, "fz_static") * grown)
        force = value(cli, "link_force")
        assert heavier.number("link_force") == pytest.approx(force * grown, rel=0.01)
        use = value(cli, "link_buckling_use")
        assert heavier.found("LINK-BUCKLES") == pytest.approx(use * grown, rel=0.01)
        assert heavier.verdict("LINK-BUCKLES") == "missed"
        assert "D-LINK" in heavier.broken

    def test_braking_is_what_buckles_it(self, cli: Cli) -> None:
        assert value(cli, "worst_link_force") < 0
        assert trial(cli, "braking=0.85 g").verdict("LINK-BUCKLES") == "missed"

    def test_a_thicker_slice_holds_and_weighs(self, cli: Cli) -> None:
        thicker = trial(cli, "gross_mass=2600 kg", SLICE.format(18))
        assert thicker.verdict("LINK-BUCKLES") == "met"
        assert "D-LINK" not in thicker.broken
        start, end = (value(cli, f"lower_rear_{each}") for each in ("inner", "outer"))
        length = sqrt(sum((a - b) ** 2 for a, b in zip(start, end, strict=True)))
        mass = 36 * 18 * length * 2700e-9
        assert thicker.found("LINK-MASS") == pytest.approx(mass)
        more = (mass - value(cli, "link_mass")) / 2
        assert thicker.found("MASS-CLOSED") == pytest.approx(value(cli, "unsprung_gap") + more)

    def test_thicker_for_good_closes_on_its_own_mass(self, cli: Cli) -> None:
        cli("lean", "D-LINK", "s42x18", "--why", WHY)
        assert verdict(cli, "LINK-MASS") == "tight"
        assert verdict(cli, "LINK-BUCKLES") == "met"

    def test_the_same_mass_reaches_springs_brakes_and_hands(self, cli: Cli) -> None:
        heavier = trial(cli, "gross_mass=2600 kg")
        assert {"D-SPRING", "D-REAR-SPRING", "D-ASSIST"} <= heavier.broken
        assert heavier.told["look"] == ["D-REAR-BRAKE"]
        assert heavier.told["ran"] < heavier.told["checks_total"]

    def test_a_loop_that_cannot_close_by_itself_is_watched(self, cli: Cli) -> None:
        assert verdict(cli, "TRANSFER-CLOSED") == "met"
        stale = trial(cli, "transfer_share_front=0.48")
        assert stale.verdict("TRANSFER-CLOSED") == "missed"
        cli("reopen", "D-KNUCKLE", "--why", WHY)
        assert trial(cli, "--lean", "D-KNUCKLE=tall").verdict("MASS-CLOSED") == "missed"


class TestTheCornerStandsWhereSpringAndLoadPutIt:
    """Load and spring → trim → camber, toe and steering axis there."""

    def test_payload_leans_the_wheels_in_and_toes_them_out(self, cli: Cli) -> None:
        heavier = trial(cli, "gross_mass=2600 kg")
        assert heavier.number("trim_laden") > value(cli, "trim_laden")
        # but for the motion ratio, which is found from the forces at gross mass
        assert heavier.number("trim_kerb") == pytest.approx(value(cli, "trim_kerb"), rel=1e-4)
        assert heavier.found("TOE-LADEN") < value(cli, "toe_laden")
        assert heavier.found("CAMBER-LADEN") < value(cli, "camber_laden")

    def test_a_stiffer_spring_moves_the_trims_towards_design(self, cli: Cli) -> None:
        cli("reopen", "D-SPRING", "--why", WHY)
        stiffer = trial(cli, "--lean", "D-SPRING=r125")
        for trim in ("kerb", "laden"):  # as the rates, at the same load; a trial tells six digits
            moved = value(cli, f"trim_{trim}") * 110 / 125
            assert stiffer.number(f"trim_{trim}") == pytest.approx(moved, rel=1e-5)
        assert stiffer.number("toe_kerb") < value(cli, "toe_kerb")
        assert stiffer.number("toe_laden") > value(cli, "toe_laden")

    def test_wheels_set_parallel_toe_out_under_load(self, cli: Cli) -> None:
        assert {verdict(cli, each) for each in ("TOE-KERB", "TOE-LADEN", "CAMBER-LADEN")} == {"met"}
        parallel = trial(cli, "--lean", "D-ALIGN=parallel")
        assert parallel.broken == {"D-ALIGN"}
        less = value(cli, "toe_laden") - value(cli, "static_toe")
        assert parallel.found("TOE-LADEN") == pytest.approx(less, abs=1e-3)
        assert parallel.verdict("TOE-LADEN") == "missed"
