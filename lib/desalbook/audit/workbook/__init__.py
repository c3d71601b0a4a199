"""The record as a workbook: every computed line a live formula beside its value."""
