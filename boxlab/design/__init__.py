"""Questions of design: trade-offs, needs, searches and fair comparison."""
