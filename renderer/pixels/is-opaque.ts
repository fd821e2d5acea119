/** Whether no pixel is see-through. */
export function isOpaque(rgba: Uint8Array): boolean {
  for (let at = 3; at < rgba.length; at += 4) if (rgba[at] !== 255) return false;
  return true;
}
