//! Sessions read back.
