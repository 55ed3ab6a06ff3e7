"""Peak stress method: element constants, weights, equivalent peak stress, calibration."""
