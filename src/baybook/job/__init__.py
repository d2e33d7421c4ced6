"""What the estimator states: every input field declared once, and the frozen records read from them."""
