//! A converter for every argument by its own name, so that whatever is wrong with a number, the sentence names the argument:
//! `#[pyo3(from_py_with = need::length_mm)] length_mm: f64`, and `may::` where `None` is allowed.

use pyo3::prelude::*;

use crate::convert::{
    CELSIUS, CM2, DB, DEG, G, GPA, HZ, KG_M3, KPA, LITRE, MM, MM_PER_N, MPA, MS, N, N_M, N_M2, PERCENT, PLAIN, S, whole,
};

macro_rules! needed {
    ($($kind:ident: $($name:ident)+;)*) => {$($(
        pub fn $name(given: &Bound<'_, PyAny>) -> PyResult<f64> {
            $kind.one(stringify!($name), given)
        }
    )+)*};
}

macro_rules! optional {
    ($($kind:ident: $($name:ident)+;)*) => {$($(
        pub fn $name(given: &Bound<'_, PyAny>) -> PyResult<Option<f64>> {
            if given.is_none() { Ok(None) } else { $kind.one(stringify!($name), given).map(Some) }
        }
    )+)*};
}

macro_rules! counts {
    ($($name:ident: $number:ty;)*) => {$(
        pub fn $name(given: &Bound<'_, PyAny>) -> PyResult<$number> {
            whole(stringify!($name), given, <$number>::MAX as u64).map(|v| v as $number)
        }
    )*};
}

/// Arguments that must be given.
pub mod need {
    use super::*;

    needed! {
        CELSIUS: temperature_c to_temperature_c
            service_temperature_c;
        CM2: area_cm2 hole_area_cm2 u_hole_area_cm2;
        DB: range_db;
        DEG: angle_deg grain_angle_deg ring_angle_deg theta_deg u_grain_angle_deg
            limit_deg neck_angle_deg rotation_deg u_deg u_rotation_deg
            corner_deg turn_deg u_angle_deg;
        G: scale_step_g end_mass_g glue_g high_g low_g mass_g u_end_mass_g u_mass_g u_scale_g
            u_added_mass_g;
        GPA: e_gpa modulus_gpa modulus_l_gpa u_gpa
            brace_modulus_gpa brace_shear_gpa glue_shear_gpa plate_modulus_gpa plate_shear_gpa;
        HZ: after_hz bandwidth_hz before_hz frequency_hz high_hz low_hz rate_hz u_after_hz u_bandwidth_hz u_before_hz u_hz
            a4_hz;
        KPA: pressure_kpa;
        LITRE: u_volume_l volume_l;
        KG_M3: density_kg_m3 u_density_kg_m3
            wrap_density_kg_m3;
        MM: deepest_pass_mm feather_mm from_mm machine_mm to_mm u_dial_mm knot_length_mm dial_repeat_mm dial_step_mm hand_length_mm hand_mm aim_mm allowance_mm at_mm blank_height_mm calibration_mm cap_mm crest_width_mm deepest_mm deflection_mm depth_mm
            dimension_spread_mm end_mm eta_mm first_mm floor_mm height_mm high_mm inner_mm left_mm length_mm low_mm
            max_depth_mm pad_mm peak_mm radius_mm reach_mm repeat_mm reseat_mm resolution_mm right_mm rise_mm scatter_mm
            second_mm size_mm smallest_height_mm smallest_safe_height_mm smallest_shaving_mm span_mm start_mm thickness_mm
            u_calliper_mm u_height_mm u_length_mm u_mm u_span_mm u_thickness_mm u_width_mm value_mm width_mm width_spread_mm
            window_mm x_mm y_mm z_mm
            apart_mm arch_rise_mm arm_mm between_loads_mm brace_height_mm brace_width_mm built_arch_mm end_behind_mm
            end_height_mm foot_length_mm foot_width_mm gauge_mm glue_mm least_arch_mm pivot_behind_mm plate_width_mm
            read_mm rise_behind_mm saddle_from_front_mm saddle_height_mm scale_mm sink_before_mm top_thickness_mm
            u_saddle_height_mm u_scale_mm
            after_mm before_mm chord_mm dish_radius_mm lining_mm u_deflection_mm
            binding_mm bridge_plate_length_mm bridge_plate_mm by_mm closing_height_mm closing_width_mm compensation_least_mm
            compensation_most_mm crossing_to_hole_mm diameter_mm fan_end_mm fan_height_mm fan_width_mm
            finger_height_mm finger_width_mm focus_mm gap_mm graft_mm hole_mm inset_mm joint_mm lap_to_hole_mm leg_end_mm
            leg_height_mm leg_width_mm lower_bout_mm off_mm offset_mm over_mm pin_mm plate_past_pins_mm pocket_mm scallop_depth_mm
            scallop_length_mm slant_mm spacing_mm spread_mm tolerance_mm tone_bar_height_mm tone_bar_width_mm
            transverse_from_hole_mm transverse_height_mm transverse_width_mm tuck_mm u_position_mm upper_bout_mm waist_mm
            edge_mm u_diameter_mm step_mm;
        MM_PER_N: give_mm_per_n goal_mm_per_n u_give_mm_per_n;
        MS: bounce_ms skip_ms;
        N: force_n load_n press_n pull_n
            ea_1_n ea_2_n tension_n total_n u_force_n u_total_n;
        N_M: couple_n_m;
        N_M2: high_n_m2 low_n_m2
            ei_1_n_m2 ei_2_n_m2;
        PERCENT: moisture_percent allowed_percent from_percent intersection_percent mc_percent rh_high_percent rh_low_percent rh_percent slope_percent to_mc_percent to_percent
            tolerance_percent u_mc_percent u_rh_percent u_settled_percent water_percent
            dampest_rh_percent driest_rh_percent from_mc_percent glued_mc_percent
            mass_percent stiffness_percent;
        PLAIN: blank_level level stiffness_ln tension_ratio u_modulus modulus_between modulus_along knots knot_run_out density_between hand_bias hand_between hand_scatter hand_pass modulus_ln slope_doubt alpha area_mm2 at_12 bias_fraction confidence cost_over cost_short coverage days decrement density_spread
            e_over_g enough eps exponent g_per_mm green hand_passes least_margin limit_percent_per_day mean median model_spread modulus_ratio
            modulus_spread over overshoot parallel per_pass perpendicular poisson poisson_spread r ratio ratio_spread
            reject_chance resolution run_out run_out_sideways s scatter_fraction sd sd_ln second sensitivity shavings_lost
            shear_spread short sideways slope span_over_depth specific_gravity spread stiffness_n_per_mm thickness_over_length
            tolerance u u_bias_fraction u_calibration u_coefficients u_decrement u_g_per_mm u_load u_loss_factor u_ratio u_stiffness
            u_stiffness_n_per_mm u_tap_fraction u_temperature_c value vertical width_over_thickness z
            core_of_gauge elastic fret front hours k_def mass_g_per_m most_crack_index movement_per_percent_mc r_edge
            years fineness part quality
            close_chance neck_fullness tail_fullness
            service_class stiffness_n_m_per_deg strain time_constant_days u_mass_g_per_m u_relative
            q q_air q_back q_top u_end_radii;
        S: decay_60_db_s longest_s over_s u_decay_60_db_s
            duration_s;
    }

    counts! {
        channel: usize;
        count: usize;
        draws: usize;
        index: usize;
        mode: usize;
        modes: usize;
        most: usize;
        most_grades: usize;
        most_passes: usize;
        needed: usize;
        node: i64;
        passes: usize;
        places: usize;
        points: usize;
        readings: u32;
        readings_per_seat: u32;
        reference_node: i64;
        response_node: i64;
        seats: u32;
        seed: u64;
        sides: usize;
        stations: usize;
        body_fret: usize;
        fans: usize;
        fingers: usize;
        strings: usize;
        tone_bars: usize;
    }
}

/// Arguments that may be `None`.
pub mod may {
    use super::*;

    optional! {
        DEG: ring_angle_deg steepest_wall_deg
            limit_deg u_deg;
        G: brace_g mass_g shavings_g u_scale_g
            added_mass_g back_mass_g bridge_mass_g;
        GPA: lowest_modulus_gpa modulus_gpa;
        HZ: frequency_hz;
        KG_M3: highest_density_kg_m3 lowest_density_kg_m3
            density_kg_m3;
        MM: bridge_thickness_mm aimed_mm at_mm crest_width_mm deepest_pass_mm gouge_radius_mm left_mm length_mm middle_mm right_mm rise_mm
            smallest_safe_height_mm strong_mm target_mm u_deflection_mm u_mm
            end_height_mm most_rise_mm plain_gauge_mm width_mm
            arch_radius_mm centre_mm hole_mm lower_at_mm scale_mm unit_mm upper_at_mm waist_at_mm flange_mm;
        MPA: bending_strength_mpa modulus_of_rupture_mpa
            shear_strength_mpa strength_mpa tension_perpendicular_mpa;
        N: load_n;
        N_M: working_moment_n_m
            design_couple_n_m;
        PERCENT: moisture_percent rh_percent;
        PLAIN: calibration_dof diffusion_mm2_per_day dof er_el et_el glr_el glt_el grams_per_mm grt_el known_repeat_sd
            known_seat_sd loss_factor modulus_spread nu_lr nu_lt nu_rt rise_of_height run_out shear_ratio spread
            u_relative
            end_radii plate_spread in_plane_n_mm2 turning_n;
    }

    pub fn tap(given: &Bound<'_, PyAny>) -> PyResult<Option<usize>> {
        if given.is_none() { Ok(None) } else { whole("tap", given, usize::MAX as u64).map(|v| Some(v as usize)) }
    }

    pub fn pairs(given: &Bound<'_, PyAny>) -> PyResult<Option<usize>> {
        if given.is_none() { Ok(None) } else { whole("pairs", given, usize::MAX as u64).map(|v| Some(v as usize)) }
    }

    pub fn driving(given: &Bound<'_, PyAny>) -> PyResult<Option<usize>> {
        if given.is_none() { Ok(None) } else { whole("driving", given, usize::MAX as u64).map(|v| Some(v as usize)) }
    }

    pub fn draws(given: &Bound<'_, PyAny>) -> PyResult<Option<usize>> {
        if given.is_none() { Ok(None) } else { whole("draws", given, usize::MAX as u64).map(|v| Some(v as usize)) }
    }
}
