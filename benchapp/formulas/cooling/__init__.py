"""A jug of wax that cools: the law, what is expected of a jug, and what dips tell of it.

``forecast`` says when the wax reaches a temperature, ``learn`` what a finished cooling tells of
its jug. Below them: ``law`` (dθ/dt = −k·θ^n), ``prior``, ``readings``, ``fit`` for one exponent,
``posterior`` over all of them.
"""
