"""Results with their labels: arrays over places in millimetres, and tables for pandas."""
