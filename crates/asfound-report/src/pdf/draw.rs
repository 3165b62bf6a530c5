//! Writes laid out pages as a PDF.

use krilla::color::rgb;
use krilla::configure::{Configuration, Validator};
use krilla::geom::{Path, PathBuilder, Point, Rect, Size, Transform};
use krilla::image::Image;
use krilla::metadata::{DateTime, Metadata};
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::surface::Surface;
use krilla::tagging::{ArtifactType, ContentTag};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Data, Document, SerializeSettings};
use time::OffsetDateTime;

use super::faces::{FaceName, Faces};
use super::flow::{Flow, PageItem, PageItems, SIDE, TextStyle};
use super::parts::colour;
use super::{Paper, PdfError};
use crate::palette::{LIGHT, Rgb};
use crate::printed::{Logo, LogoKind, Mark, Printed};
use crate::qr::QrCode;

const FOOT: TextStyle = TextStyle { face: FaceName::Regular, size: 9.0, colour: LIGHT.muted };

/// The picture of a logo.
fn image(logo: &Logo) -> Result<Image, PdfError> {
    let data = Data::from(logo.bytes.clone());
    match logo.kind {
        LogoKind::Png => Image::from_png(data, false),
        LogoKind::Jpeg => Image::from_jpeg(data, false),
    }
    .map_err(PdfError::Logo)
}

/// Width and height of a logo, in points where a pixel is one.
pub(super) fn logo_size(logo: &Logo) -> Result<(f32, f32), PdfError> {
    let (width, height) = image(logo)?.size();
    if width == 0 || height == 0 {
        return Err(PdfError::Logo("it has no size".to_owned()));
    }
    Ok((width as f32, height as f32))
}

/// The file.
pub(super) fn drawn(printed: &Printed, paper: Paper, flow: Flow) -> Result<Vec<u8>, PdfError> {
    let Flow { faces, pages, mut tags, .. } = flow;
    let settings = SerializeSettings {
        configuration: Configuration::new_with_validator(Validator::A2_A),
        enable_tagging: true,
        ..SerializeSettings::default()
    };
    let mut document = Document::new_with(settings);
    let fonts = FaceName::ALL
        .map(|name| Font::new(Data::from(name.file().to_vec()), 0).expect("the fonts of this crate are sound"));
    let logo = printed.logo.as_ref().map(image).transpose()?;
    let (width, height) = paper.size();
    let count = pages.len();
    for (at, sheet) in pages.into_iter().enumerate() {
        let size = PageSettings::from_wh(width, height).expect("a page has a size");
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        let pen = Pen { faces: &faces, fonts: &fonts, logo: logo.as_ref() };
        for (part, ink) in joined(sheet) {
            let tag = if part.is_some() { ContentTag::Other } else { ContentTag::Artifact(ArtifactType::Other) };
            let piece = surface.start_tagged(tag);
            ink.iter().for_each(|ink| pen.put(&mut surface, ink));
            surface.end_tagged();
            if let Some(part) = part {
                tags.piece(part, piece);
            }
        }
        surface.start_tagged(ContentTag::Artifact(ArtifactType::Footer));
        let words = printed.language.words();
        let number = format!("{} {}", words.page, at + 1) + &format!(" {} {count}", words.of);
        let right = width - SIDE - faces.width(FOOT.face, FOOT.size, &number);
        let base = height - 30.0;
        pen.put(
            &mut surface,
            &PageItem::Rule { x: SIDE, y: base - 12.0, length: width - 2.0 * SIDE, width: 0.5, colour: LIGHT.rule },
        );
        pen.text(&mut surface, FOOT, &number, right, base);
        let mut left = faces.printable(FOOT.face, &format!("{} · {}", printed.number, printed.about));
        while faces.width(FOOT.face, FOOT.size, &left) > right - SIDE - 12.0 {
            left.pop();
        }
        pen.text(&mut surface, FOOT, &left, SIDE, base);
        surface.end_tagged();
        surface.finish();
        page.finish();
    }
    document.set_tag_tree(tags.tree(printed.language.tag()));
    document.set_metadata(
        Metadata::new()
            .title(format!("{} {}", printed.title, printed.number))
            .language(printed.language.tag().to_owned())
            .creator("asfound".to_owned())
            .document_id(printed.number.clone())
            .creation_date(moment(printed.at)),
    );
    document.finish().map_err(|error| PdfError::Assembly(format!("{error:?}")))
}

fn moment(at: OffsetDateTime) -> DateTime {
    let at = at.to_offset(time::UtcOffset::UTC);
    DateTime::new(u16::try_from(at.year()).unwrap_or_default())
        .month(at.month().into())
        .day(at.day())
        .hour(at.hour())
        .minute(at.minute())
        .second(at.second())
        .utc_offset_hour(0)
        .utc_offset_minute(0)
}

/// What belongs to one part and follows on itself, together.
fn joined(sheet: PageItems) -> Vec<(Option<usize>, Vec<PageItem>)> {
    let mut all: Vec<(Option<usize>, Vec<PageItem>)> = Vec::new();
    for (part, ink) in sheet {
        match all.last_mut() {
            Some((last, together)) if *last == part => together.push(ink),
            _ => all.push((part, vec![ink])),
        }
    }
    all
}

struct Pen<'a> {
    faces: &'a Faces,
    fonts: &'a [Font; 3],
    logo: Option<&'a Image>,
}

impl Pen<'_> {
    fn put(&self, surface: &mut Surface<'_>, ink: &PageItem) {
        match ink {
            PageItem::Text { x, base, looks, text } => self.text(surface, *looks, text, *x, *base),
            PageItem::Rule { x, y, length, width, colour } => {
                fill(surface, *colour, rectangle(*x, y - width / 2.0, *length, *width));
            }
            PageItem::Panel { x, y, width, height, colour } => {
                fill(surface, *colour, rectangle(*x, *y, *width, *height));
            }
            PageItem::Mark { x, base, size, mark } => fill(surface, colour(*mark), shape(*mark, *x, *base, *size)),
            PageItem::Qr { x, y, side, code } => fill(surface, (0, 0, 0), squares(code, *x, *y, *side)),
            PageItem::Logo { x, y, width, height } => {
                if let (Some(image), Some(size)) = (self.logo, Size::from_wh(*width, *height)) {
                    surface.push_transform(&Transform::from_translate(*x, *y));
                    surface.draw_image(image.clone(), size);
                    surface.pop();
                }
            }
        }
    }

    fn text(&self, surface: &mut Surface<'_>, looks: TextStyle, text: &str, x: f32, base: f32) {
        let glyphs: Vec<KrillaGlyph> = text
            .char_indices()
            .filter_map(|(at, c)| {
                let letter = self.faces.letter(looks.face, c)?;
                let range = at..at + c.len_utf8();
                Some(KrillaGlyph::new(GlyphId::new(letter.glyph.into()), letter.advance, 0.0, 0.0, 0.0, range, None))
            })
            .collect();
        if glyphs.is_empty() {
            return;
        }
        surface.set_fill(Some(paint(looks.colour)));
        let font = self.fonts[looks.face as usize].clone();
        surface.draw_glyphs(Point::from_xy(x, base), &glyphs, font, text, looks.size, false);
    }
}

fn paint((red, green, blue): Rgb) -> Fill {
    Fill { paint: rgb::Color::new(red, green, blue).into(), ..Fill::default() }
}

fn fill(surface: &mut Surface<'_>, colour: Rgb, path: Option<Path>) {
    if let Some(path) = path {
        surface.set_fill(Some(Fill { rule: krilla::paint::FillRule::EvenOdd, ..paint(colour) }));
        surface.draw_path(&path);
    }
}

fn rectangle(x: f32, y: f32, width: f32, height: f32) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.push_rect(Rect::from_xywh(x, y, width, height)?);
    path.finish()
}

/// The dark squares of a QR code, within its margin of empty ones.
fn squares(code: &QrCode, x: f32, y: f32, side: f32) -> Option<Path> {
    let one = side / (code.width() + 2 * QrCode::QUIET) as f32;
    let place = |at: usize| (at + QrCode::QUIET) as f32 * one;
    let mut path = PathBuilder::new();
    for (column, row, length) in code.runs() {
        path.push_rect(Rect::from_xywh(x + place(column), y + place(row), length as f32 * one, one)?);
    }
    path.finish()
}

/// A mark beside a line of text: a full circle, a square, a triangle, or a ring.
fn shape(mark: Mark, x: f32, base: f32, height: f32) -> Option<Path> {
    let edge = height * 0.62;
    let (right, top) = (x + edge, base - edge);
    let mut path = PathBuilder::new();
    match mark {
        Mark::Agreed => path.push_rect(Rect::from_ltrb(x, top, right, base)?),
        Mark::Alarm => {
            path.move_to(x - edge * 0.06, base);
            path.line_to(right + edge * 0.06, base);
            path.line_to(x + edge / 2.0, top - edge * 0.06);
            path.close();
        }
        Mark::Good => circle(&mut path, x + edge / 2.0, base - edge / 2.0, edge / 2.0),
        Mark::Open => {
            circle(&mut path, x + edge / 2.0, base - edge / 2.0, edge / 2.0);
            circle(&mut path, x + edge / 2.0, base - edge / 2.0, edge / 2.0 - 0.9);
        }
    }
    path.finish()
}

/// A circle of four Bézier curves.
fn circle(path: &mut PathBuilder, x: f32, y: f32, radius: f32) {
    let handle = radius * 0.552_284_8;
    path.move_to(x + radius, y);
    path.cubic_to(x + radius, y + handle, x + handle, y + radius, x, y + radius);
    path.cubic_to(x - handle, y + radius, x - radius, y + handle, x - radius, y);
    path.cubic_to(x - radius, y - handle, x - handle, y - radius, x, y - radius);
    path.cubic_to(x + handle, y - radius, x + radius, y - handle, x + radius, y);
    path.close();
}
