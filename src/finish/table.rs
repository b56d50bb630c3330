//! Every constant of this folder that is a choice, with its source and grade.
//!
//! The key is the constant's place in the documentation, not a key of the job file.

use crate::equipment::defaults::{Documented, Grade};

const fn assumed(key: &'static str, value: &'static str, source: &'static str) -> Documented {
    Documented { key, value, source, grade: Grade::Assumed }
}

/// The constants of the finish.
pub const TABLE: &[Documented] = &[
    Documented {
        key: "finish.standard_index",
        value: "1.567",
        source: "black glass that reads 100, ISO 2813",
        grade: Grade::Standard,
    },
    assumed("finish.clear_coat_index", "1.50", "acrylic and urethane resins, 1.48 to 1.53"),
    assumed("finish.wavelength_nm", "550", "near the peak of the eye; the middle of the checks' range"),
    Documented {
        key: "finish.fingertip_um",
        value: "0.85 +- 0.22",
        source: "Johansson and LaMotte, Somatosens. Res. 1 (1983) 21-31: edges on smooth silicon",
        grade: Grade::Standard,
    },
    assumed("finish.nail_um", "5", "common practice, no source; 2 to 15 is heard"),
    assumed("finish.visible_depth_um", "0.10 to 0.40", "black to white paint; the order from SAE 2017-01-9451"),
    assumed("finish.visible_contrast", "0.02", "order of Weber's fraction"),
    assumed("finish.stray_luminance", "0.01", "light returned by black paint in a workshop"),
    assumed("finish.cone_half_angle_deg", "60", "a grain attacks at some 30 degrees"),
    assumed("finish.depth_cap_share", "0.25", "deeper, the root of the grain would rub"),
    assumed("finish.roughness_spread", "0.5", "within a factor of 2.7 at 95 %"),
    assumed("finish.one_way_gain", "0.4", "crossing marks cut off each other's ridges"),
    Documented {
        key: "finish.decay_depths",
        value: "1.07",
        source: "fit to slicing off triangular marks of spread depths, largest difference 0.12",
        grade: Grade::Derived,
    },
    assumed("finish.cutting_depth_nm", "30", "shallower grains push aside more than they cut; orders steps only"),
    assumed("finish.directional_from", "0.3", "anisotropy above which marks read as holograms"),
    assumed("finish.hardness_mpa", "80, 150, 250", "soft, medium, hard clear coat; order of magnitude"),
    assumed("finish.active_share", "0.03, 0.015, 0.008", "finishing foam, cutting foam, fibre"),
    assumed("finish.mark_depth_share", "0.15", "sanding marks over grain size, within a factor of two"),
    assumed("finish.swirl_um", "0.8 (spread 0.6)", "common practice, no source"),
    assumed("finish.deep_scratch_um", "3.0 (spread 0.6)", "common practice, no source"),
    assumed("finish.etching_um", "2.5 (spread 0.8)", "common practice, no source"),
    assumed("finish.across_slope", "0.25", "light thrown across a scratch half to two micrometres wide"),
    assumed("finish.along_slope", "0.02", "lamp of 20 mm at half a metre; scratches not quite straight"),
    assumed("finish.edge_pass_share", "0.5", "common practice, no source"),
    assumed("finish.edge_strip_mm", "25", "common practice, no source"),
];
