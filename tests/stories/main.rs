//! Stories of the whole service: what people do, and what they see then.

mod headers;
mod pages;
mod refusals;
mod secrets;
mod support;
