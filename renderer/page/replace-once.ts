/**
 * Replaces a text that stands in a source exactly once. three's shaders are changed here by their text: another version of
 * three may word them differently, and pictures would change in silence.
 * @param what names the source
 * @throws Error that says what no longer fits
 */
export function replaceOnce(source: string, text: string, by: string, what: string): string {
  const pieces = source.split(text);
  if (pieces.length === 2) return pieces.join(by);
  throw new Error(
    `“${text.trim()}” stands ${pieces.length - 1} times in ${what} of three, not once: the studio was made for another version of three.`,
  );
}
