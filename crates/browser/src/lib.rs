//! Tests in a real browser; there is nothing here but `tests/`.
//!
//! The tests serve a record of their own in a temporary folder and drive Debian's Chromium through
//! chromedriver. `UMBEL_NO_BROWSER=1` skips them, and says so.
