//! One file for each way of telling frames apart. Each says its rule and its source at the top.
