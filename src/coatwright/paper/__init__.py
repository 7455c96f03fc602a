"""The paper test: pulled hairs on a printed sheet, read from a photo, and what they say of the tool and the coat."""
