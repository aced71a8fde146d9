/// A file of the page, inside the program.
#[derive(Debug, Clone, Copy)]
pub struct PageFile {
    /// Its address.
    pub address: &'static str,
    /// What it is.
    pub kind: &'static str,
    /// Its bytes.
    pub bytes: &'static [u8],
}

macro_rules! page_files {
    ($($address:literal $kind:literal $file:literal)+) => {
        &[$(PageFile { address: $address, kind: $kind, bytes: include_bytes!(concat!("page/", $file)) }),+]
    };
}

/// All files of the page.
pub const FILES: &[PageFile] = page_files! {
    "/" "text/html; charset=utf-8" "index.html"
    "/desk.css" "text/css; charset=utf-8" "desk.css"
    "/report.css" "text/css; charset=utf-8" "../../deliver/report_html/style.css"
    "/mark.svg" "image/svg+xml" "mark.svg"
    "/desk.js" "text/javascript; charset=utf-8" "desk.js"
    "/ask.js" "text/javascript; charset=utf-8" "ask.js"
    "/state.js" "text/javascript; charset=utf-8" "state.js"
    "/make.js" "text/javascript; charset=utf-8" "make.js"
    "/begin.js" "text/javascript; charset=utf-8" "begin.js"
    "/map.js" "text/javascript; charset=utf-8" "map.js"
    "/drawing.js" "text/javascript; charset=utf-8" "drawing.js"
    "/draw.js" "text/javascript; charset=utf-8" "draw.js"
    "/see.js" "text/javascript; charset=utf-8" "see.js"
    "/what_if.js" "text/javascript; charset=utf-8" "what_if.js"
    "/say_why.js" "text/javascript; charset=utf-8" "say_why.js"
    "/take.js" "text/javascript; charset=utf-8" "take.js"
    "/after.js" "text/javascript; charset=utf-8" "after.js"
};

/// What the farm's page has beside the files of its fields' pages.
pub const FARM_FILES: &[PageFile] = page_files! {
    "/" "text/html; charset=utf-8" "farm.html"
    "/farm.js" "text/javascript; charset=utf-8" "farm.js"
    "/farm_map.js" "text/javascript; charset=utf-8" "farm_map.js"
    "/farm_list.js" "text/javascript; charset=utf-8" "farm_list.js"
    "/farm.css" "text/css; charset=utf-8" "farm.css"
};
