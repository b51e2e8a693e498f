//! What of the field is looked at, and how; none of it is part of the document.

/// What the map shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MapOf {
    /// The irradiance.
    #[default]
    Irradiance,
    /// How far off the irradiance may be: its expanded uncertainty (k = 2), percent of it.
    Uncertainty,
    /// How bright the lamp's face is inferred to be; in the step Field only.
    Brightness,
}

impl MapOf {
    /// As a list of maps says it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Irradiance => "Irradiance",
            Self::Uncertainty => "Uncertainty, k = 2, %",
            Self::Brightness => "Lamp's brightness",
        }
    }
}

/// What the strip below the picture runs along, through the cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Along {
    /// Upwards, at the cross.
    #[default]
    Height,
    /// From left to right, at the height of the map.
    X,
    /// From front to back, at the height of the map.
    Y,
}

impl Along {
    /// All, in the order of menus.
    pub const ALL: [Self; 3] = [Self::Height, Self::X, Self::Y];
}
