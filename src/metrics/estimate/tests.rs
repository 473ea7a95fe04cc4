//! Each rule on draws whose mean and spread are seen at once, worked by hand.
