//! Lists read and compared with what is true of them.

mod compare;
mod matrix;
mod measure;
