//! Pixels as a PNG file.

/// RGBA pixels as a PNG file; `None` when there are not as many as the size says.
pub(super) fn encode(width: u32, height: u32, rgba: &[u8], dpi: Option<f64>) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    if let Some(dpi) = dpi {
        let per_metre = (dpi * 1000.0 / crate::units::MM_PER_INCH).round() as u32;
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: per_metre,
            yppu: per_metre,
            unit: png::Unit::Meter,
        }));
    }
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(rgba).ok()?;
    writer.finish().ok()?;
    Some(bytes)
}
