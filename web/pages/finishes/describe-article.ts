import type { Article } from '../../../server/core/finish/finish.ts';

/** What an article brings to each of its finishes, as sentences; what it does not say is left out. */
export function describeArticle(article: Article): string[] {
  const { composition, tile, threadsPerCm, gloss, roughness, companions = {} } = article;
  const surface = [
    roughness !== undefined && `roughness ${roughness}`,
    ...([20, 60, 85] as const).map((angle) => {
      const gu = gloss?.[`gu${angle}`];
      return gu !== undefined && `${gu} GU at ${angle}°`;
    }),
    article.clearcoat !== undefined && `clear coat ${article.clearcoat}`,
    article.metal !== undefined && (article.metal ? 'metal' : 'no metal'),
  ].filter((word) => word !== false);
  const cloth = [
    tile && `repeat ${tile.widthMm} × ${tile.heightMm} mm, direction ${tile.grainDegrees ?? 0}°`,
    threadsPerCm !== undefined && `${threadsPerCm} threads to the cm`,
  ].filter(Boolean);
  const followers = Object.entries(companions).map(([position, finish]) => `${finish} at ${position}`);
  return [
    composition && `${composition.replace(/\.$/, '')}.`,
    cloth.length > 0 && sentence(cloth.join('; ')),
    surface.length > 0 && sentence(surface.join(', ')),
    followers.length > 0 && `Followed by ${followers.join(', ')}.`,
  ].filter((line) => typeof line === 'string');
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
