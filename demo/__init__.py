"""The demo: an invented mentor, two invented trainees and twelve boxes, taken through the real commands."""
