//! How each role looks on paper. Black and white on purpose: lines that lie on the map carry a white
//! casing, so that they show on dark and light and survive a copier.

use crate::sheet::drawing::Role;

/// A pen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pen {
    /// mm.
    pub(super) width: f64,
    /// 0 black, 255 white.
    pub(super) grey: u8,
    /// Stroke and gap, mm.
    pub(super) dash: Option<(f64, f64)>,
}

/// The look of a role; sizes in mm on paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Look {
    pub(super) pen: Pen,
    /// Width of the white line under the pen.
    pub(super) casing: Option<f64>,
    /// Distance of slanting strokes inside a closed path.
    pub(super) hatch: Option<f64>,
    /// Radius of the white disk under a mark.
    pub(super) ground: Option<f64>,
    /// Across a mark.
    pub(super) mark: f64,
    /// Font size of a label.
    pub(super) text: f64,
}

/// The table.
pub(super) fn look(role: Role) -> Look {
    let plain = |width: f64| Look {
        pen: Pen {
            width,
            grey: 0,
            dash: None,
        },
        casing: None,
        hatch: None,
        ground: None,
        mark: 2.0,
        text: 2.5,
    };
    let dashed = |width, dash| Look {
        pen: Pen {
            width,
            grey: 0,
            dash: Some(dash),
        },
        ..plain(width)
    };
    match role {
        Role::Fixture => plain(0.5),
        Role::Face => dashed(0.25, (3.0, 1.5)),
        Role::Plate => dashed(0.25, (6.0, 1.5)),
        Role::Site => Look {
            casing: Some(0.6),
            text: 2.4,
            ..plain(0.25)
        },
        Role::KeepOut => Look {
            casing: Some(0.6),
            hatch: Some(1.6),
            ..plain(0.25)
        },
        Role::Position => Look {
            casing: Some(0.6),
            mark: 2.2,
            ..plain(0.25)
        },
        Role::Stop => Look {
            casing: Some(0.6),
            ground: Some(1.7),
            mark: 2.2,
            ..plain(0.3)
        },
        Role::Beneath => Look {
            pen: Pen {
                width: 0.2,
                grey: 150,
                dash: None,
            },
            text: 2.4,
            ..plain(0.2)
        },
        Role::Cut => Look {
            mark: 4.0,
            ..plain(0.2)
        },
        Role::Engraved => Look {
            text: 2.6,
            ..plain(0.15)
        },
        Role::Body | Role::Preview | Role::Gap | Role::Way => dashed(0.15, (0.8, 0.8)),
        Role::Reading => Look {
            casing: Some(0.5),
            mark: 1.1,
            ..plain(0.15)
        },
        Role::ReadingLeftOut => Look {
            casing: Some(0.6),
            mark: 1.8,
            ..plain(0.25)
        },
        Role::Contour => Look {
            casing: Some(0.5),
            text: 2.3,
            ..plain(0.15)
        },
        Role::Extrapolated => Look {
            casing: Some(0.3),
            ..plain(0.1)
        },
        Role::Below | Role::Above | Role::Inside => Look {
            casing: Some(0.45),
            text: 2.6,
            ..plain(0.2)
        },
        Role::Border => Look {
            casing: Some(0.7),
            ..plain(0.4)
        },
        Role::NotProven => Look {
            casing: Some(0.4),
            text: 2.6,
            ..dashed(0.15, (0.9, 0.7))
        },
        Role::Coldest | Role::Hottest => Look {
            casing: Some(1.0),
            mark: 3.4,
            text: 2.8,
            ..plain(0.35)
        },
        Role::Datum => Look {
            casing: Some(0.7),
            mark: 2.4,
            ..plain(0.3)
        },
        Role::Selected => Look {
            mark: 3.0,
            ..plain(0.6)
        },
    }
}
