"""The exercises: for every subject a few questions with numbers that are drawn, and the mistakes that are common."""

from __future__ import annotations

from math import pi, sqrt

from deckcalc import chloride, closure, curing, formwork, mix, patch, safety, steel, traffic
from deckcalc.live.exercises import Exercise, Mistake

WATER_FIRST = "What is free on the aggregate is water that the mixer need not get."

EVERY = [
    Exercise(
        "margin", patch.patch_limits, "A",
        "Unsound concrete reaches over {L_u} by {B_u}. The saw cut stands {m} outside it on every side. "
        "Which area is inside the cut?",
        {
            "L_u": {"SI": ("0.80 m", "1.60 m", "0.05 m"), "US": ("2.5 ft", "5.5 ft", "0.25 ft")},
            "B_u": {"SI": ("0.40 m", "0.75 m", "0.05 m"), "US": ("1.25 ft", "2.25 ft", "0.25 ft")},
            "m": {"SI": ("60 mm", "100 mm", "5 mm"), "US": ("2.5 in", "4 in", "0.5 in")},
        },
        {
            "SI": {"A_u": "0.3 m²", "e_L": "0 mm", "e_B": "0 mm", "A_n": "0 m²", "P_n": "0 m"},
            "US": {"A_u": "3 ft²", "e_L": "0 in", "e_B": "0 in", "A_n": "0 ft²", "P_n": "0 ft"},
        },
        (
            Mistake(
                lambda given, found: (given["L_u"] + given["m"]) * (given["B_u"] + given["m"]),
                "The margin stands on both sides: each side grows by twice the margin. With one margin the cut would stand in "
                "concrete that sounds hollow.",
            ),
            Mistake(
                lambda given, found: given["L_u"] * given["B_u"],
                "That is the unsound area itself. Sounding misses the edge of a delamination by some centimetres: the margin "
                "brings the cut into sound concrete.",
            ),
        ),
        ("By how much does each side grow?", "L = L_u + 2 m, and B in the same way.", "A = (L_u + 2 m) (B_u + 2 m), in one unit."),
    ),
    Exercise(
        "clear-space", patch.removal_depth, "h_bars",
        "The cover is {c_max}, the two layers of bars are {d_1} and {d_2} thick, and {s_c} must be clear below them. How deep is the "
        "concrete broken out where the bars are exposed?",
        {
            "c_max": {"SI": ("40 mm", "60 mm", "1 mm"), "US": ("1.5 in", "2.5 in", "0.125 in")},
            "d_1": {"SI": ("12 mm", "20 mm", "4 mm"), "US": ("0.5 in", "0.75 in", "0.125 in")},
            "d_2": {"SI": ("12 mm", "16 mm", "4 mm"), "US": ("0.5 in", "0.625 in", "0.125 in")},
            "s_c": {"SI": ("19 mm", "26 mm", "1 mm"), "US": ("0.75 in", "1 in", "0.125 in")},
        },
        {"SI": {"h_i": "70 mm, 80 mm", "c_min": "40 mm"}, "US": {"h_i": "3 in, 3.25 in", "c_min": "1.5 in"}},
        (
            Mistake(
                lambda given, found: given["c_max"] + given["d_1"] + given["d_2"],
                "That ends at the underside of the bars. Mortar must get below them and grip them from all sides: add the clear space.",
            ),
            Mistake(
                lambda given, found: given["c_max"] + given["d_1"] + given["s_c"],
                "There are two layers: the lower bars are in the way of the space below the upper ones.",
            ),
            Mistake(
                lambda given, found: given["d_1"] + given["d_2"] + given["s_c"],
                "That is the depth below the top of the upper bars: the cover above them comes out as well.",
            ),
        ),
        ("What lies one below the other, from the surface down?", "Cover, upper bars, lower bars, clear space.", "h = c + d_1 + d_2 + s_c."),
    ),
    Exercise(
        "loss-of-area", steel.section_loss, "loss",
        "A bar of {A_0} nominal area measures {d} at its thinnest place. Which share of its section is lost?",
        {"d": {"SI": ("12.0 mm", "15.0 mm", "0.1 mm"), "US": ("0.46 in", "0.60 in", "0.01 in")}},
        {"SI": {"A_0": "200 mm²"}, "US": {"A_0": "0.31 in²"}},
        (
            Mistake(
                lambda given, found: 1 - found["d_r"] / (2 * (given["A_0"] / pi) ** 0.5),
                "That is the share of the diameter. Area goes with its square: the loss of section is nearly twice as much.",
            ),
            Mistake(lambda given, found: 1 - found["loss"], "That is the share that is left, not the share that is lost."),
        ),
        ("Which area does a bar of that diameter have?", "A_r = π d² / 4 is what is left.",
         "The loss is what is missing of the nominal area, as a share of it: 1 − A_r / A_0."),
    ),
    Exercise(
        "cement-for-ratio", mix.cementitious_content, "C_m",
        "The mixing water is {W}, w/cm may be at most {w_cm}, and the specification wants no less than {C_least} of cementitious "
        "material. How much goes into a cubic metre (cubic yard)?",
        {
            "W": {"SI": ("150 kg/m³", "185 kg/m³", "1 kg/m³"), "US": ("250 lb/yd³", "310 lb/yd³", "1 lb/yd³")},
            "w_cm": {"SI": ("0.36", "0.44", "0.01"), "US": ("0.36", "0.44", "0.01")},
        },
        {"SI": {"C_least": "335 kg/m³"}, "US": {"C_least": "564 lb/yd³"}},
        (
            Mistake(
                lambda given, found: given["C_least"],
                "That is the least of the specification. With it the ratio would be above its limit: ratio and least both hold, so the "
                "larger one governs.",
            ),
            Mistake(
                lambda given, found: given["W"] * given["w_cm"],
                "The ratio is water over cementitious material: divide the water by it.",
            ),
        ),
        ("What does w/cm say?", "C = W / (w/cm).", "Of that and the least of the specification, the larger one."),
    ),
    Exercise(
        "water-at-the-mixer", mix.batch_masses_ssd, "W_add",
        "A mix needs {W} of water with {M_ca} of coarse and {M_fa} of fine aggregate, saturated surface-dry. On the pile they carry "
        "{f_ca} and {f_fa} of free moisture. How much water goes into the mixer?",
        {
            "f_ca": {"SI": ("0.5 %", "2.0 %", "0.1 %"), "US": ("0.5 %", "2.0 %", "0.1 %")},
            "f_fa": {"SI": ("3.0 %", "6.0 %", "0.1 %"), "US": ("3.0 %", "6.0 %", "0.1 %")},
        },
        {
            "SI": {"W": "170 kg/m³", "M_ca": "1010 kg/m³", "M_fa": "690 kg/m³"},
            "US": {"W": "285 lb/yd³", "M_ca": "1700 lb/yd³", "M_fa": "1160 lb/yd³"},
        },
        (
            Mistake(
                lambda given, found: given["W"],
                f"{WATER_FIRST} With all of it added the concrete would be far wetter than its w/cm says.",
            ),
            Mistake(lambda given, found: given["W"] + found["F_ca"] + found["F_fa"], f"{WATER_FIRST} It is taken off, not added."),
            Mistake(
                lambda given, found: given["W"] - found["F_fa"],
                "The coarse aggregate carries water as well.",
            ),
        ),
        ("How much water comes in with the stone, and how much with the sand?", "Free water is mass times free moisture, for each.",
         "W_add = W − M_ca f_ca − M_fa f_fa."),
    ),
    Exercise(
        "bases-of-chloride", chloride.cement_share, "p",
        "A slice of a core holds {C} of chloride. The old concrete was made with {c} of cement. Which share by mass of cement is that?",
        {
            "C": {"SI": ("0.80 kg/m³", "3.00 kg/m³", "0.05 kg/m³"), "US": ("1.40 lb/yd³", "5.00 lb/yd³", "0.10 lb/yd³")},
            "c": {"SI": ("300 kg/m³", "380 kg/m³", "5 kg/m³"), "US": ("520 lb/yd³", "640 lb/yd³", "5 lb/yd³")},
        },
        {},
        (
            Mistake(
                lambda given, found: given["C"] / (given["C"] * 0 + type(given["C"])(2323.0, "kg/m**3")),
                "That is the share by mass of concrete. A limit by mass of cement is some seven times as large a number: with the bases "
                "mixed, concrete that has to come out looks sound.",
            ),
        ),
        ("A share of what?", "Chloride in a volume over cement in the same volume.", "p = C / c, in per cent."),
    ),
    Exercise(
        "years-of-cover", chloride.time_to_initiation, "t_1",
        "Bars lie {x} deep. The surface holds {C_s} of chloride, corrosion begins at {C_T}, and D = {D}. After how many years does it "
        "begin (no background, k_T = k_cr = k_b = 1)?",
        {
            "x": {"SI": ("45 mm", "65 mm", "1 mm"), "US": ("1.75 in", "2.50 in", "0.05 in")},
            "C_s": {"SI": ("5.0 kg/m³", "9.0 kg/m³", "0.5 kg/m³"), "US": ("9.0 lb/yd³", "15.0 lb/yd³", "0.5 lb/yd³")},
            "D": {"SI": ("20 mm²/yr", "40 mm²/yr", "1 mm²/yr"), "US": ("0.030 in²/yr", "0.060 in²/yr", "0.001 in²/yr")},
        },
        {
            "SI": {"C_0": "0 kg/m³", "C_T": "0.9 kg/m³", "k_T": "1", "k_cr": "1", "k_b": "1"},
            "US": {"C_0": "0 lb/yd³", "C_T": "1.5 lb/yd³", "k_T": "1", "k_cr": "1", "k_b": "1"},
        },
        (
            Mistake(
                lambda given, found: found["t_1"] * 4,
                "The argument of the error function is x / (2 √(D t)): its square has a 4 in it.",
            ),
            Mistake(
                lambda given, found: found["t_1"] / 4,
                "The 4 stands once below: t = x² / (4 D z²).",
            ),
            Mistake(
                lambda given, found: found["t_1"] * found["z"],
                "z stands in the formula with its square.",
            ),
        ),
        ("Which share of the surface content is the threshold?", "C_T / C_s = 1 − erf(z): find z.", "x = 2 z √(D t), so t = x² / (4 D z²)."),
    ),
    Exercise(
        "form-load", formwork.form_load, "p_c",
        "A hole {h} deep is filled with concrete of {w_c}. How heavily does the wet concrete alone load its form?",
        {
            "h": {"SI": ("150 mm", "250 mm", "5 mm"), "US": ("6 in", "10 in", "0.25 in")},
            "w_c": {"SI": ("23.0 kN/m³", "25.0 kN/m³", "0.1 kN/m³"), "US": ("140 lbf/ft³", "155 lbf/ft³", "1 lbf/ft³")},
        },
        {
            "SI": {"g_f": "0.3 kPa", "load_set": "aci347", "placing": "no carts", "i_c": "0 %", "q_s": "0 kPa"},
            "US": {"g_f": "6 lbf/ft²", "load_set": "aci347", "placing": "no carts", "i_c": "0 %", "q_s": "0 lbf/ft²"},
        },
        (
            Mistake(
                lambda given, found: found["p"],
                "That is the design load with form and live load. Asked is the concrete alone.",
            ),
            Mistake(lambda given, found: found["p_c"] / 2, "A soffit carries the full depth: a triangle of pressure stands on walls."),
        ),
        ("What does a column of concrete of that depth weigh, on a unit of area?", "Unit weight times depth, both in the same length.", "p_c = w_c h."),
    ),
    Exercise(
        "equivalent-age", curing.equivalent_age, "t_e",
        "A patch stands at {T} for {t}. Its activation energy is {E_a}, the reference temperature {T_r}. How old is it by equivalent age?",
        {
            "T": {"SI": ("8 °C", "14 °C", "1 °C"), "US": ("46 °F", "58 °F", "1 °F")},
            "t": {"SI": ("10 h", "30 h", "1 h"), "US": ("10 h", "30 h", "1 h")},
        },
        {"SI": {"E_a": "40 kJ/mol", "T_r": "23 °C"}, "US": {"E_a": "40 kJ/mol", "T_r": "73.4 °F"}},
        (
            Mistake(lambda given, found: given["t"], "That is its age by the clock. In the cold it gains strength more slowly."),
            Mistake(
                lambda given, found: given["t"] / found["k"],
                "The factor is turned over: below the reference temperature a patch is younger than its clock says.",
            ),
        ),
        ("Is it younger or older than the clock says?", "k = exp(E_a / R (1/T_r − 1/T)), in kelvin, with R = 8.314 J/(mol K).",
         "t_e = k t; one factor holds for the whole interval, as its temperature does not change."),
    ),
    Exercise(
        "taper", traffic.taper, "L",
        "A lane {W} wide is closed on a road where traffic goes {S}. How long is the merging taper?",
        {
            "W": {"SI": ("3.0 m", "3.7 m", "0.1 m"), "US": ("10 ft", "12 ft", "0.5 ft")},
            "S": {"SI": ("80 km/h", "110 km/h", "10 km/h"), "US": ("50 mph", "70 mph", "5 mph")},
        },
        {},
        (
            Mistake(
                lambda given, found: found["L_1"],
                "That is the formula for slow roads. At this speed the length goes with speed itself, not with its square.",
            ),
            Mistake(lambda given, found: found["L_s"], "Half of it is a shifting taper. Where a lane ends, drivers must find a gap: the full length."),
            Mistake(lambda given, found: found["L_sh"], "A third of it is a shoulder taper. A lane that ends has the full length."),
        ),
        ("Which of the two formulas holds at that speed?", "At high speed L = W S in feet and mph, L = W S / 1.6 in metres and km/h.",
         "Put width and speed in; nothing is halved for a merging taper."),
    ),
    Exercise(
        "placing-time", closure.placing_time, "t",
        "{V} of concrete come out of a mixer in {n} batches of {t_c} each; the crew places {r}. How long does the patch take?",
        {
            "V": {"SI": ("0.30 m³", "0.60 m³", "0.02 m³"), "US": ("0.40 yd³", "0.80 yd³", "0.02 yd³")},
            "n": {"SI": ("6", "12", "1"), "US": ("6", "12", "1")},
            "t_c": {"SI": ("6 min", "9 min", "0.5 min"), "US": ("6 min", "9 min", "0.5 min")},
        },
        {"SI": {"r": "1.5 m³/h"}, "US": {"r": "2.0 yd³/h"}},
        (
            Mistake(
                lambda given, found: found["t_p"] + found["t_m"],
                "Mixing and placing go on side by side: the slower of the two governs, they do not add.",
            ),
            Mistake(
                lambda given, found: given["V"] / given["r"],
                "The crew waits for its first batch, and may wait for each: what does the mixer take?",
            ),
        ),
        ("What takes longer: all batches, or the first batch and then the placing?", "Mixer: n t_c. Crew: t_c + V / r.", "The larger of the two."),
    ),
    Exercise(
        "vibration", safety.tool_vibration, "A_8",
        "A breaker shakes with {a}; a worker holds it for {t} of the shift. What is the exposure over eight hours?",
        {
            "a": {"SI": ("8.0 m/s²", "16.0 m/s²", "0.5 m/s²"), "US": ("8.0 m/s²", "16.0 m/s²", "0.5 m/s²")},
            "t": {"SI": ("0.5 h", "3.0 h", "0.25 h"), "US": ("0.5 h", "3.0 h", "0.25 h")},
        },
        {"SI": {"a_a": "2.5 m/s²", "a_l": "5 m/s²"}, "US": {"a_a": "2.5 m/s²", "a_l": "5 m/s²"}},
        (
            Mistake(
                lambda given, found: given["a"] * given["t"].to("h").magnitude / 8,
                "Exposure goes with the root of time: half the time is not half the exposure.",
            ),
            Mistake(lambda given, found: given["a"], "That is the tool. Exposure is what eight hours of work come to."),
            Mistake(
                lambda given, found: given["a"] * sqrt(given["t"].to("h").magnitude),
                "The time counts as a share of eight hours.",
            ),
        ),
        ("Which share of eight hours is the tool held?", "A(8) = a √(t / 8 h).", "Take the root of the share, then times a."),
    ),
]  # fmt: skip
EXERCISES = {one.key: one for one in EVERY}
