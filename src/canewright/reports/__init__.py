"""Papers: statements as PDF and as workbooks, printed from what was published and never worked out again."""
