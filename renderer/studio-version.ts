/**
 * Version of the studio: light, lens, framing, ground shadow, tone curve and the order of operations.
 * It is part of the digest of every picture. Raise it with any change that moves a pixel, so stored pictures of the old
 * studio are never mixed with new ones.
 */
export const STUDIO_VERSION = '9';
