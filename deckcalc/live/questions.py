"""The exercises: for every subject a few questions with numbers that are drawn, and the mistakes that are common."""

from __future__ import annotations

from deckcalc import steel
from deckcalc.live.exercises import Exercise, Mistake

EXERCISES = {
    one.key: one
    for one in [
        Exercise(
            "loss-of-area", steel.section_loss, "loss",
            "A bar of {A_0} nominal area is measured with the caliper, in two directions: {d}. Which share of its section is lost?",
            {"d": {"SI": ("12.0 mm", "15.0 mm", "0.1 mm"), "US": ("0.46 in", "0.60 in", "0.01 in")}},
            {"SI": {"A_0": "200 mm²"}, "US": {"A_0": "0.31 in²"}},
            (
                Mistake(
                    lambda given, found: 1 - found["d_r"] / (2 * (given["A_0"] / 3.141592653589793) ** 0.5),
                    "That is the share of the diameter. Area goes with its square: the loss of section is nearly twice as much.",
                ),
                Mistake(lambda given, found: 1 - found["loss"], "That is the share that is left, not the share that is lost."),
            ),
            (
                "Which area does a bar of that diameter have?",
                "A_r = π d² / 4 is what is left.",
                "The loss is what is missing of the nominal area, as a share of the nominal area: 1 − A_r / A_0.",
            ),
        ),
    ]
}  # fmt: skip
