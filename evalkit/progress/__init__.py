"""The only bridge between the domain and the statistics: rounds in, answers in the trade's words out; all pure."""
