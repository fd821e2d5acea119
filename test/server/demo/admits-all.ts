import type { Options } from '../../../server/core/line/line.ts';
import type { DemoPack, DemoProduct } from '../../../server/demo/build-demo.ts';

/** Choices of a product's schedule that its positions do not allow; empty when all is well. */
export function admitsAll(pack: DemoPack, product: DemoProduct): string[] {
  const wrong: string[] = [];
  for (const { code, choices } of product.schedule.variants) {
    for (const [slot, finish] of Object.entries(choices)) {
      const position = product.slots.find((known) => known.slot === slot)?.position;
      const options = pack.line.positions.find((known) => known.position === position)?.options;
      if (!admits(pack, options, finish)) wrong.push(`${code} ${slot} ${finish}`);
    }
  }
  return wrong;
}

/** The union of what the options name, within the range. */
function admits(pack: DemoPack, options: Options | undefined, code: string): boolean {
  const finish = pack.finishes.find((known) => known.finish === code);
  const ranged = pack.line.range.find((known) => known.finish === code);
  if (!finish || !ranged || ranged.status !== 'current') return false;
  return (
    !options ||
    options.finishes?.includes(code) === true ||
    options.families?.includes(finish.family) === true ||
    options.tags?.some((tag) => finish.tags?.includes(tag)) === true ||
    (ranged.grade !== undefined && options.grades?.includes(ranged.grade) === true)
  );
}
