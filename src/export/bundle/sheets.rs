//! Which sheets there are, and the files that they make.

/// Which sheets to make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sheets {
    /// map.pdf, and each of its pages: map.svg, map.png, then map-2.svg, map-2.png and so on.
    pub map: bool,
    /// plan.pdf, plan.csv.
    pub plan: bool,
    /// plate.pdf, and for each plate plate.dxf, plate-2.dxf and so on.
    pub plate: bool,
    /// sheet.pdf.
    pub sheet: bool,
    /// placement.pdf, placement.dxf, placement.csv.
    pub placement: bool,
    /// readings.csv.
    pub readings: bool,
    /// field.csv.
    pub field: bool,
    /// summary.json.
    pub summary: bool,
    /// log.pdf, log.csv, log.json: the irradiance log and what it tells.
    pub log: bool,
    /// report.pdf: all pages in one, with a page of contents.
    pub report: bool,
}

impl Sheets {
    /// Every sheet.
    pub const ALL: Self = Self {
        map: true,
        plan: true,
        plate: true,
        sheet: true,
        placement: true,
        readings: true,
        field: true,
        summary: true,
        log: true,
        report: true,
    };

    /// The sheets of both.
    pub fn and(self, other: Self) -> Self {
        Self {
            map: self.map || other.map,
            plan: self.plan || other.plan,
            plate: self.plate || other.plate,
            sheet: self.sheet || other.sheet,
            placement: self.placement || other.placement,
            readings: self.readings || other.readings,
            field: self.field || other.field,
            summary: self.summary || other.summary,
            log: self.log || other.log,
            report: self.report || other.report,
        }
    }

    /// Whether all of the other's sheets are among these.
    pub fn cover(self, other: Self) -> bool {
        self.and(other) == self
    }

    /// Reads names with commas between: `map,plan`.
    ///
    /// # Errors
    /// A sentence that names the unknown sheet and the known ones.
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut sheets = Self {
            map: false,
            plan: false,
            plate: false,
            sheet: false,
            placement: false,
            readings: false,
            field: false,
            summary: false,
            log: false,
            report: false,
        };
        for name in text.split(',') {
            match name.trim() {
                "map" => sheets.map = true,
                "plan" => sheets.plan = true,
                "plate" => sheets.plate = true,
                "sheet" => sheets.sheet = true,
                "placement" => sheets.placement = true,
                "readings" => sheets.readings = true,
                "field" => sheets.field = true,
                "summary" => sheets.summary = true,
                "log" => sheets.log = true,
                "report" => sheets.report = true,
                other => {
                    return Err(format!(
                        "there is no sheet '{other}'; there are map, plan, plate, sheet, placement, readings, field, summary, log, report"
                    ));
                }
            }
        }
        Ok(sheets)
    }
}

/// The names of the files that some sheets make, in the order in which they are made; further pages of the map are not
/// counted before they are made.
pub fn names(sheets: Sheets) -> Vec<&'static str> {
    let of = |wanted: bool, names: &'static [&'static str]| if wanted { names } else { &[] };
    [
        of(sheets.map, &["map.pdf", "map.svg", "map.png"]),
        of(sheets.plan, &["plan.pdf", "plan.csv"]),
        of(sheets.plate, &["plate.pdf", "plate.dxf"]),
        of(sheets.sheet, &["sheet.pdf"]),
        of(
            sheets.placement,
            &["placement.pdf", "placement.dxf", "placement.csv"],
        ),
        of(sheets.readings, &["readings.csv"]),
        of(sheets.field, &["field.csv"]),
        of(sheets.summary, &["summary.json"]),
        of(sheets.log, &["log.pdf", "log.csv", "log.json"]),
        of(sheets.report, &["report.pdf"]),
    ]
    .concat()
}
