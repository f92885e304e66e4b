"""The crib itself: records and rules, without Qt, SQL, clock, file or chance."""
