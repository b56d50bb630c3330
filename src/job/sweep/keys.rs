//! The keys of a study file.

use crate::job::keys::{Kind, Need, key};

pub(super) static STUDY: Kind = Kind {
    name: "",
    keys: &[
        key("schema", "", Need::Required),
        key("title", "", Need::Default),
        key("job", "", Need::Required),
        key("step", "", Need::Required),
        key("columns", "", Need::Default),
        key("design", "", Need::Required),
        key("vary", "", Need::Required),
    ],
};

pub(super) static DESIGN: Kind = Kind {
    name: "design",
    keys: &[key("kind", "", Need::Required), key("count", "", Need::Case), key("seed", "", Need::Case)],
};

/// What one key of the job may be.
pub(super) static RANGE: Kind = Kind {
    name: "vary",
    keys: &[
        key("low", "", Need::Case),
        key("high", "", Need::Case),
        key("count", "", Need::Case),
        key("scale", "", Need::Default),
        key("whole", "", Need::Default),
        key("values", "", Need::Case),
    ],
};
