//! Runs Typst on sources held in memory: no files, no clock, no network.

use crate::fonts::FILES;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

struct Shared {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

static SHARED: LazyLock<Shared> = LazyLock::new(|| {
    let fonts: Vec<Font> =
        FILES.iter().filter_map(|file| Font::new(Bytes::new(*file), 0)).collect();
    Shared {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
    }
});

struct Desk {
    main: Source,
    files: Vec<(FileId, Bytes)>,
}

fn file_id(name: &str) -> Result<FileId, String> {
    let path = VirtualPath::new(name).map_err(|error| format!("{name}: {error:?}"))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &SHARED.library
    }
    fn book(&self) -> &LazyHash<FontBook> {
        &SHARED.book
    }
    fn main(&self) -> FileId {
        self.main.id()
    }
    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() { Ok(self.main.clone()) } else { Err(FileError::AccessDenied) }
    }
    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let found = self.files.iter().find(|(file, _)| *file == id);
        found.map(|(_, bytes)| bytes.clone()).ok_or(FileError::AccessDenied)
    }
    fn font(&self, index: usize) -> Option<Font> {
        SHARED.fonts.get(index).cloned()
    }
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Lays out a source with its files into pages.
pub(crate) fn layout(source: &str, files: Vec<(&str, Vec<u8>)>) -> Result<PagedDocument, String> {
    let files: Result<Vec<_>, String> =
        files.into_iter().map(|(name, bytes)| Ok((file_id(name)?, Bytes::new(bytes)))).collect();
    let desk = Desk { main: Source::new(file_id("main.typ")?, source.to_owned()), files: files? };
    let document = typst::compile::<PagedDocument>(&desk).output.map_err(|e| say(&e));
    // What was laid out for this call is of no use to the next.
    typst::comemo::evict(0);
    document
}

/// The pages as a PDF. The identifier is fixed and no date is written, so that equal pages give
/// equal bytes.
pub(crate) fn pdf(document: &PagedDocument) -> Result<Vec<u8>, String> {
    let options = PdfOptions { ident: Smart::Custom("umbel".into()), ..PdfOptions::default() };
    typst_pdf::pdf(document, &options).map_err(|e| say(&e))
}

fn say(errors: &[SourceDiagnostic]) -> String {
    errors.iter().map(|error| error.message.to_string()).collect::<Vec<_>>().join("; ")
}
