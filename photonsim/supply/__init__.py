"""How the emitters are fed and cooled, and how bright they are to the eye."""
