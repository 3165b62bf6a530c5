//! The embedded letters and how wide they are.

use ttf_parser::Face;

use crate::shown::by_number;

/// One of the three faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum FaceName {
    /// For running text.
    Regular,
    /// For headings.
    Bold,
    /// For seals.
    Mono,
}

impl FaceName {
    pub(super) const ALL: [Self; 3] = [Self::Regular, Self::Bold, Self::Mono];

    /// The font file.
    pub(super) fn file(self) -> &'static [u8] {
        match self {
            Self::Regular => include_bytes!("../../fonts/sans-regular.ttf"),
            Self::Bold => include_bytes!("../../fonts/sans-bold.ttf"),
            Self::Mono => include_bytes!("../../fonts/mono-regular.ttf"),
        }
    }
}

/// The faces, ready to measure with.
pub(super) struct Faces([Face<'static>; 3]);

/// A letter of a face: its number there, and how far it moves on, as a part of the size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Glyph {
    pub(super) glyph: u16,
    pub(super) advance: f32,
}

impl Faces {
    pub(super) fn new() -> Self {
        Self(FaceName::ALL.map(|name| Face::parse(name.file(), 0).expect("the fonts of this crate are sound")))
    }

    fn face(&self, name: FaceName) -> &Face<'static> {
        &self.0[name as usize]
    }

    /// The letter of a character; nothing where the face lacks it.
    pub(super) fn letter(&self, name: FaceName, c: char) -> Option<Glyph> {
        let face = self.face(name);
        let glyph = face.glyph_index(c).filter(|glyph| glyph.0 != 0)?;
        let advance = f32::from(face.glyph_hor_advance(glyph)?) / f32::from(face.units_per_em());
        Some(Glyph { glyph: glyph.0, advance })
    }

    /// The text with every character that the face lacks written by its number.
    pub(super) fn printable(&self, name: FaceName, text: &str) -> String {
        let mut printable = String::with_capacity(text.len());
        for c in text.chars() {
            match self.letter(name, c) {
                Some(_) => printable.push(c),
                // The face for seals lacks the brackets; it prints no text of other origin.
                None if name == FaceName::Mono => printable.push('?'),
                None => printable.push_str(&by_number(c)),
            }
        }
        printable
    }

    /// How wide a text is at a size, in points.
    pub(super) fn width(&self, name: FaceName, size: f32, text: &str) -> f32 {
        text.chars().filter_map(|c| self.letter(name, c)).map(|letter| letter.advance * size).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The alphabets of the languages of Europe that are written in Latin, Greek and Cyrillic: the letters beyond ASCII, from memory.
    #[test]
    fn the_letters_of_europe_are_there() {
        let faces = Faces::new();
        let all = "ÄÖÜäöüßẞ ÀÂÇÉÈÊËÎÏÔÙÛŸŒÆàâçéèêëîïôùûÿœæ ÁÍÓÚÑáíóúñ¿¡ ÃÕãõ ÅØåø ÐÞÝðþý ĄĆĘŁŃŚŹŻąćęłńśźż \
                   ČĎĚŇŘŠŤŮŽčďěňřšťůž ĹĽŔĺľŕ ŐŰőű ȘȚĂșță ĞİŞğış ĀĒĢĪĶĻŅŪāēģīķļņū ĖĮŲėįų ŊŦŋŧ ĊĠĦċġħ ŴŶŵŷẀẂẄ Əə \
                   ΑΒΓΔΕΖΗΘΩάέήίόύώϊΐς АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯ ЂЃЄЅІЇЈЉЊЋЌЎЏҐґ €£₺₽ –—‘’“”„«»‹›…·•→←−×";
        for name in [FaceName::Regular, FaceName::Bold] {
            assert_eq!(faces.printable(name, all), all);
        }
        assert_eq!(faces.printable(FaceName::Regular, "a😀b"), "a‹U+1F600›b");
    }
}
