"""One good set of arguments for each calculation of the reinforcement."""

from deckcalc import Q, steel

FORCES = {"b": Q(12, "in"), "f_c": Q(3.5, "ksi"), "E_s": Q(29000, "ksi"), "code": "AASHTO LRFD"}
TWO = {
    "A_1": Q(0.5, "in²"), "f_y1": Q(40, "ksi"), "d_1": Q(5.7, "in"), "A_2": Q(0.2, "in²"), "f_y2": Q(60, "ksi"),
    "d_2": Q(5.2, "in"), **FORCES,
}  # fmt: skip
BAR = {"d_b": Q(0.5, "in"), "f_y": Q(60, "ksi"), "f_c": Q(5, "ksi")}
ABOUT = {
    "h_below": Q(5, "in"), "coating": "epoxy", "c_c": Q(2, "in"), "c_s": Q(5.375, "in"), "lamb": Q(1),
}  # fmt: skip
GOOD = {
    steel.section_loss: {"A_0": Q(0.31, "in²"), "d": Q([0.60, 0.55], "in")},
    steel.section_loss_square: {"A_0": Q(1, "in²"), "d": Q([0.97, 0.93], "in")},
    steel.mass_loss: {"m_0": Q(1.552, "kg/m"), "M_cut": Q(0.41, "kg"), "L_cut": Q(300, "mm")},
    steel.uniform_loss: {"d_0": Q(16, "mm"), "d": Q(14.6, "mm")},
    steel.adjacent_loss: {"loss_1": Q(24, "%"), "loss_2": Q(21, "%")},
    steel.exceedance: {
        "loss": Q(23.4, "%"), "A_0": Q(0.31, "in²"), "d_r": Q(0.55, "in"), "u_d": Q(0.2, "mm"), "loss_lim": Q(25, "%"),
    },
    steel.pit_loss: {"A_0": Q(0.31, "in²"), "d": Q(0.6, "in"), "p": Q(0.12, "in")},
    steel.pit_depth: {"x": Q(0.4, "mm"), "d_0": Q(15.9, "mm"), "L": Q(600, "mm")},
    steel.corroded_yield: {"f_y": Q(40, "ksi"), "loss": Q(17.3, "%")},
    steel.corrosion_rate: {"i_corr": Q(1.7, "µA/cm²")},
    steel.corrosion_current: {"v": Q(29, "µm/yr")},
    steel.rate_by_age: {"d_0": Q(15.875, "mm"), "d_r": Q(14.6, "mm"), "T_c": Q(22, "yr")},
    steel.years_to_limit: {
        "d_0": Q(15.875, "mm"), "d_r": Q(14.6, "mm"), "loss_lim": Q(25, "%"), "v": Q(29, "µm/yr"), "K": Q(1.5),
    },
    steel.strip_area: {"A_b": Q(0.31, "in²"), "s": Q(6, "in"), "b": Q(12, "in")},
    steel.clear_spacing: {
        "s": Q(6, "in"), "d_old": Q(0.625, "in"), "d_b": Q(0.5, "in"), "D_max": Q(0.375, "in"), "c_code": Q(1, "in"),
    },
    steel.confinement: {"c_c": Q(2, "in"), "d_b": Q(0.5, "in"), "s": Q(6, "in")},
    steel.mat_loss: {"A_lost": Q([0.02, 0.07], "in²"), "A_0": Q([0.31, 0.31], "in²")},
    steel.depth_to_bars: {"h": Q(8, "in"), "c": Q(2, "in"), "d_b": Q(0.625, "in")},
    steel.depth_under_removal: {"h": Q(8, "in"), "h_r": Q(3.5, "in"), "c": Q(1, "in"), "d_b": Q(0.625, "in")},
    steel.area_left: {"A_s": Q(0.62, "in²"), "loss": Q(14.2, "%")},
    steel.added_in_strip: {"A_added": Q(0.2, "in²"), "N": Q(7), "s": Q(6, "in"), "b": Q(12, "in")},
    steel.service_moment: {
        "m_DC": Q(0.64, "kip*ft/ft"), "m_DW": Q(0.16, "kip*ft/ft"), "m_LL": Q(4.81, "kip*ft/ft"), "b": Q(1, "ft"),
    },
    steel.supplement: {"A_lost": Q(0.40, "in²"), "A_b": Q(0.31, "in²")},
    steel.development_aci.form("US"): {
        **BAR, "c_b": Q(2.25, "in"), "A_tr": Q(0.2, "in²"), "s_tr": Q(9, "in"), "n_b": Q(2), **ABOUT,
    },
    steel.development_aci_simple.form("US"): {**BAR, "case": "cover and spacing met", **ABOUT},
    steel.lap_length: {
        "l_1": Q(10.2, "in"), "l_2": Q(12, "in"), "d_b": Q(0.625, "in"), "lap_class": "B", "l_min": Q(12, "in"),
    },
    steel.development_aashto_7: {**BAR, "A_b": Q(0.2, "in²"), "k_te": Q(1.3)},
    steel.development_aashto: {**BAR, "c_b": Q(2.25, "in"), "k_te": Q(1.3), "lamb": Q(1)},
    steel.development_aashto_10: {**BAR, "c_b": Q(2.25, "in"), "k_te": Q(1.3), "lamb": Q(1)},
    steel.tension_ec2: {"f_ck": Q(34.5, "MPa")},
    steel.lap_ec2: {
        "d_b": Q(12, "mm"), "sigma_sd": Q(434.78, "MPa"), "f_ctk": Q(2.2, "MPa"), "gamma_c": Q(1.5), "bond": "good",
        "alpha": Q(0.7), "alpha_6": Q(1.5),
    },
    steel.added_bar: {"L_loss": Q(10, "in"), "l_lap": Q(13.3, "in"), "c_end": Q(1, "in"), "L_patch": Q(29, "in")},
    steel.coupler_force: {"A_b": Q(0.31, "in²"), "f_y": Q(40, "ksi")},
    steel.flexure.form("US"): {"A_s": Q(0.62, "in²"), "f_y": Q(40, "ksi"), "d": Q(5.69, "in"), **FORCES},
    steel.flexure_layers.form("US"): {"c": steel.balanced_depth(**TWO, form="US"), **TWO},
    steel.least_steel.form("US"): {
        "f_c": Q(3.5, "ksi"), "f_y": Q(40, "ksi"), "b": Q(12, "in"), "h": Q(8, "in"), "d": Q(5.69, "in"),
    },
    steel.deck_moment: {"S": Q(8, "ft"), "x": Q(6, "in"), "sign": "negative"},
    steel.deck_moment_old: {"S_c": Q(7, "ft"), "P": Q(16, "kip"), "k_c": Q(0.8), "k_i": Q(1.3)},
    steel.strip_widths: {"S": Q(8, "ft")},
    steel.dead_moments: {
        "rho": Q(145, "lb/ft³"), "h": Q(8, "in"), "w_DW": Q(25, "psf"), "S": Q(8, "ft"), "k_m": Q(10),
    },
    steel.rating: {
        "m_r": Q(10.1, "kip*ft/ft"), "phi_cs": Q(0.95), "m_DC": Q(0.64, "kip*ft/ft"), "m_DW": Q(0.16, "kip*ft/ft"),
        "m_LL": Q(4.81, "kip*ft/ft"), "gamma_DC": Q(1.25), "gamma_DW": Q(1.5), "gamma_LL": Q(1.75),
    },
    steel.cracked_section: {"M": Q(5.6, "kip*ft"), "A_s": Q(0.62, "in²"), "b": Q(12, "in"), "d": Q(5.69, "in"), "n": Q(8)},
    steel.crack_spacing.form("US"): {"f_s": Q(21, "ksi"), "c_c": Q(2, "in")},
    steel.crack_spacing_aashto: {"f_ss": Q(21, "ksi"), "f_y": Q(40, "ksi"), "d_c": Q(2.3125, "in"), "h": Q(8, "in"), "gamma_e": Q(0.75)},
    steel.bundled_bars: {"d_b": Q(1, "in"), "n": Q(3), "c_b": Q(3.2, "in")},
    steel.development_excess: {
        "l_calc": Q(24, "in"), "A_req": Q(0.5, "in²"), "A_prov": Q(0.62, "in²"), "purpose": "anchorage", "l_min": Q(12, "in"),
    },
    steel.placement_aashto: {
        "h_below": Q(14, "in"), "coating": "epoxy", "c_c": Q(2, "in"), "c_s": Q(5.375, "in"), "d_b": Q(0.5, "in"),
        "f_c": Q(5, "ksi"), "edition": "8th and 9th",
    },
    steel.steel_for_moment.form("US"): {
        "M_u": Q(10.3, "kip*ft"), "b": Q(12, "in"), "d": Q(5.69, "in"), "f_c": Q(3.5, "ksi"), "f_y": Q(40, "ksi"),
    },
    steel.strip_moment: {"m_u": Q(9.8, "kip*ft/ft"), "phi_cs": Q(0.95), "b": Q(12, "in")},
    steel.missing_steel: {"A_s": Q(0.68, "in²"), "A_l": Q(0.56, "in²"), "A_b": Q(0.2, "in²")},
    steel.least_moment_aashto: {
        "M_u": Q(10.3, "kip*ft"), "f_c": Q(3.5, "ksi"), "f_y": Q(40, "ksi"), "b": Q(12, "in"), "h": Q(8, "in"),
    },
    steel.punching_aashto: {
        "P": Q(16, "kip"), "k_P": Q(1.75 * 1.33), "w_1": Q(20, "in"), "w_2": Q(10, "in"), "d": Q(5.5, "in"),
        "f_c": Q(3.5, "ksi"), "edge": "hole at one side", "phi": Q(0.9),
    },
    steel.punching.form("US"): {
        "P": Q(16, "kip"), "k_P": Q(1.75 * 1.33), "w_1": Q(20, "in"), "w_2": Q(10, "in"), "d": Q(5.5, "in"),
        "f_c": Q(3.5, "ksi"), "edge": "hole at one side", "phi": Q(0.75),
    },
}  # fmt: skip
