/** Marks on the points of a scene, one byte each. */

/** A triangle that can be drawn uses it. */
export const USED = 1;
/** One of its coordinates is no number or infinite; never together with the others. */
export const NOT_FINITE = 2;
/** It is one with a point before it. */
export const WELDED = 4;
