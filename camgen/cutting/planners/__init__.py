"""One planner for each way of cutting: drilling, tapping, boring, milling, form cutting."""
