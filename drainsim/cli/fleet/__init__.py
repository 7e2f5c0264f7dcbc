"""Commands about many vehicles."""
