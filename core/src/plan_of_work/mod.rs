//! plan_of_work.
