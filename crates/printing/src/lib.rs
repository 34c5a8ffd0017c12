//! Labels and profiles as PDF.
