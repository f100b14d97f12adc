"""What would help: sensitivities, moves tried and ranked, equipment that suits, the chances."""
