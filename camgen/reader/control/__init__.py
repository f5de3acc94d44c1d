"""A control as it carries out one block after another: what it holds, and what it does."""
