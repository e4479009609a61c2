"""The talking: messengers in and out, understanding words, wording replies, pictures."""
