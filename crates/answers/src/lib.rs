//! One module for each question a grower asks; journal and calculators in, Answer out.
