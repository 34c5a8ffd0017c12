//! Colour and scale from photographs: the numbers.
//!
//! Plain numbers in, plain numbers out; nothing here knows plants, files or the clock.
