//! evenhand
