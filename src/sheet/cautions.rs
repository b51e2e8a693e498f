//! The cautions that stand wherever a person is told to put a detector under a source: written once,
//! for the pages and for the window.

/// What they are called.
pub const TITLE: &str = "Before you put a detector under the source";

/// The cautions, most urgent first; each stands alone.
pub const CAUTIONS: [&str; 9] = [
    "Ultraviolet light burns eyes and skin within seconds. Keep shields and interlocks in place and working.",
    "Wear UV-blocking eyewear or a face shield and cover all skin. Bright visible LEDs hurt eyes too.",
    "Close the shutter or switch the source off before you reach in, place the detector, shut the shield, then expose.",
    "Before you touch a reflector or a lamp, cut and lock out its supply and let it cool: igniters are at high voltage and housings are hot.",
    "Never touch quartz with bare fingers.",
    "If a mercury lamp breaks, leave the room, shut off its ventilation to other rooms, air it, and clean up by your site's mercury procedure; never with a vacuum cleaner or a broom.",
    "Arc lamps make ozone: run the ventilation.",
    "Exposure limits for people are those of IEC 62471 and ICNIRP. A curing radiometer cannot judge them.",
    "Your site's own rules, local codes and licensed practice come first.",
];

/// Who answers for the numbers.
pub const RESPONSIBILITY: &str =
    "Limits and safety factors remain your responsibility to validate.";
