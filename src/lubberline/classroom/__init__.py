"""The class: lessons, sittings, answers, what they say of the questions, the beliefs and who is ready."""
