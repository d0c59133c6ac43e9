"""Thin plates that bend, stretch and touch: the compiled part of the model.

To be read from one plate to a whole lift curve:

- one plate: ``grid``, ``element``, ``assembly``, ``factors``;
- where plates meet: ``contact``, ``openings``, ``wedges``, ``ties``;
- one linear step: ``compliance``, ``band_cholesky``, ``linear_step``, ``pivoting``;
- one equilibrium: ``residual``, ``newton``, ``initial_guess``, ``modified_newton``, ``sensitivity``;
- a lift curve: ``predictor``, ``continuation``, ``face_lift``.

``plate``, ``state`` and ``workspace`` hold the arrays, ``jit`` and ``code_cache`` compile. Equations are
numbered as on the page of the model, docs/model/stack-under-pressure.md.
"""
