/**
 * Tests texts against typed words: each word must occur somewhere, in any case and without regard to accents, so that
 * “boucle” finds “Bouclé”. Without words, every text passes.
 */
export function makeWordTest(typed: string): (texts: readonly (string | undefined)[]) => boolean {
  const words = fold(typed).split(/\s+/).filter(Boolean);
  return (texts) => {
    if (words.length === 0) return true;
    const all = fold(texts.filter(Boolean).join('\n'));
    return words.every((word) => all.includes(word));
  };
}

function fold(text: string): string {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
}
