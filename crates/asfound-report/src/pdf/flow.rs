//! Pages in the making: what stands where.

use super::Paper;
use super::faces::{FaceName, Faces};
use super::lines::lines;
use super::tags::{TagRole, Tags};
use crate::palette::Rgb;
use crate::printed::Mark;
use crate::qr::QrCode;

pub(super) const SIDE: f32 = 48.0;
pub(super) const TOP: f32 = 46.0;
pub(super) const BOTTOM: f32 = 60.0;

/// How text looks.
#[derive(Debug, Clone, Copy)]
pub(super) struct TextStyle {
    pub(super) face: FaceName,
    pub(super) size: f32,
    pub(super) colour: Rgb,
}

impl TextStyle {
    /// From one base line to the next.
    pub(super) fn leading(self) -> f32 {
        self.size * 1.36
    }
}

/// Something that stands on a page. Places are in points from the upper left corner.
#[derive(Debug)]
pub(super) enum PageItem {
    Text { x: f32, base: f32, looks: TextStyle, text: String },
    Rule { x: f32, y: f32, length: f32, width: f32, colour: Rgb },
    Panel { x: f32, y: f32, width: f32, height: f32, colour: Rgb },
    Mark { x: f32, base: f32, size: f32, mark: Mark },
    Qr { x: f32, y: f32, side: f32, code: QrCode },
    Logo { x: f32, y: f32, width: f32, height: f32 },
}

/// A page: what stands on it, each with the part of the document that it belongs to; nothing for what only adorns.
pub(super) type PageItems = Vec<(Option<usize>, PageItem)>;

/// Pages that are filled from top to bottom.
pub(super) struct Flow {
    pub(super) faces: Faces,
    pub(super) pages: Vec<PageItems>,
    pub(super) tags: Tags,
    pub(super) y: f32,
    /// Whether it is the first page, whose letters are larger.
    pub(super) front: bool,
    width: f32,
    height: f32,
}

impl Flow {
    pub(super) fn new(paper: Paper) -> Self {
        let (width, height) = paper.size();
        Self {
            faces: Faces::new(),
            pages: vec![PageItems::new()],
            tags: Tags::new(),
            y: TOP,
            front: false,
            width,
            height,
        }
    }

    /// How text looks here: no letters on the first page are smaller than those that everybody reads without glasses.
    pub(super) fn text_style(&self, looks: TextStyle) -> TextStyle {
        const FRONT: f32 = 10.5;
        if self.front { TextStyle { size: looks.size.max(FRONT), ..looks } } else { looks }
    }

    /// The width between the margins.
    pub(super) fn measure(&self) -> f32 {
        self.width - 2.0 * SIDE
    }

    /// The right margin.
    pub(super) fn right(&self) -> f32 {
        self.width - SIDE
    }

    /// What is left of the page.
    pub(super) fn room(&self) -> f32 {
        self.height - BOTTOM - self.y
    }

    /// The room of an empty page.
    pub(super) fn whole(&self) -> f32 {
        self.height - BOTTOM - TOP
    }

    pub(super) fn put(&mut self, part: Option<usize>, ink: PageItem) {
        self.pages.last_mut().expect("there is always a page").push((part, ink));
    }

    pub(super) fn turn(&mut self) {
        self.pages.push(PageItems::new());
        self.y = TOP;
    }

    /// Turns the page unless there is that much room.
    pub(super) fn need(&mut self, height: f32) {
        if self.room() < height && self.y > TOP {
            self.turn();
        }
    }

    /// A paragraph from `x` on, `width` wide, over as many pages as it takes.
    pub(super) fn paragraph(&mut self, part: usize, looks: TextStyle, text: &str, (x, width): (f32, f32)) {
        for line in lines(&self.faces, looks.face, looks.size, text, width) {
            self.need(looks.leading());
            self.text(Some(part), looks, line, x);
            self.y += looks.leading();
        }
    }

    /// One line with its top at the present place.
    pub(super) fn text(&mut self, part: Option<usize>, looks: TextStyle, text: String, x: f32) {
        let base = self.y + looks.size;
        self.put(part, PageItem::Text { x, base, looks, text });
    }

    /// A part of the document under another.
    pub(super) fn part(&mut self, under: usize, role: TagRole) -> usize {
        self.tags.add(under, role)
    }
}
