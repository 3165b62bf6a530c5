//! The colours: one set for paper and light screens, one for dark screens. Colour never says anything alone.

/// A colour: red, green, blue.
pub(crate) type Rgb = (u8, u8, u8);

/// The colours of one ground.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Palette {
    pub(crate) ground: Rgb,
    pub(crate) panel: Rgb,
    pub(crate) ink: Rgb,
    pub(crate) muted: Rgb,
    pub(crate) rule: Rgb,
    pub(crate) accent: Rgb,
    pub(crate) agreed: Rgb,
    pub(crate) alarm: Rgb,
}

/// White paper.
pub(crate) const LIGHT: Palette = Palette {
    ground: (0xFF, 0xFF, 0xFF),
    panel: (0xF3, 0xF6, 0xF5),
    ink: (0x1B, 0x23, 0x26),
    muted: (0x51, 0x5E, 0x65),
    rule: (0xC3, 0xCD, 0xCC),
    accent: (0x1C, 0x5D, 0x56),
    agreed: (0x2F, 0x4E, 0x8C),
    alarm: (0x9A, 0x2F, 0x12),
};

/// Dark screens.
pub(crate) const DARK: Palette = Palette {
    ground: (0x13, 0x19, 0x1B),
    panel: (0x1C, 0x24, 0x27),
    ink: (0xE6, 0xEB, 0xEA),
    muted: (0xA6, 0xB3, 0xB6),
    rule: (0x3A, 0x47, 0x4B),
    accent: (0x7F, 0xC9, 0xBE),
    agreed: (0x9F, 0xB9, 0xF0),
    alarm: (0xF2, 0x9E, 0x7E),
};

impl Palette {
    /// The colours as CSS custom properties.
    pub(crate) fn css(&self) -> String {
        let hex = |(red, green, blue): Rgb| format!("#{red:02x}{green:02x}{blue:02x}");
        format!(
            "--ground:{};--panel:{};--ink:{};--muted:{};--rule:{};--accent:{};--agreed:{};--alarm:{}",
            hex(self.ground),
            hex(self.panel),
            hex(self.ink),
            hex(self.muted),
            hex(self.rule),
            hex(self.accent),
            hex(self.agreed),
            hex(self.alarm)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn luminance((red, green, blue): Rgb) -> f64 {
        let linear = |part: u8| {
            let part = f64::from(part) / 255.0;
            if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
    }

    /// Contrast ratio of WCAG 2.2 (success criterion 1.4.3).
    fn contrast(a: Rgb, b: Rgb) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_letter_stands_out() {
        assert!((contrast((0, 0, 0), (255, 255, 255)) - 21.0).abs() < 1e-9);
        for palette in [LIGHT, DARK] {
            for ground in [palette.ground, palette.panel] {
                for ink in [palette.ink, palette.muted, palette.accent, palette.agreed, palette.alarm] {
                    assert!(contrast(ink, ground) >= 4.5, "{ink:?} on {ground:?}: {}", contrast(ink, ground));
                }
            }
        }
    }
}
