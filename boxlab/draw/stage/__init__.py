"""The stage: from a `Scene` to a picture that moves in a page. `stage.js` draws what these send."""
