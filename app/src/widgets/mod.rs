//! widgets.
