/** Median, least and greatest of some runs, in milliseconds. */
export interface Times {
  readonly median: number;
  readonly min: number;
  readonly max: number;
}

/** Runs A and B in turn, A B A B …, after one warm-up of each, so that both meet the same moods of the machine. */
export async function alternate<K extends string>(
  runs: number,
  works: Record<K, () => Promise<unknown>>,
): Promise<Record<K, Times>> {
  const names = Object.keys(works) as K[];
  const samples = Object.fromEntries(names.map((name) => [name, [] as number[]])) as Record<K, number[]>;
  for (let run = -1; run < runs; run++) {
    for (const name of names) {
      const start = performance.now();
      await works[name]();
      if (run >= 0) samples[name].push(performance.now() - start);
    }
  }
  return Object.fromEntries(names.map((name) => [name, summarise(samples[name])])) as Record<K, Times>;
}

export function summarise(samples: readonly number[]): Times {
  const sorted = [...samples].sort((a, b) => a - b);
  return { median: sorted[Math.floor(sorted.length / 2)]!, min: sorted[0]!, max: sorted[sorted.length - 1]! };
}

export function row(title: string, figure: string, aim = ''): void {
  console.log(`${title.padEnd(66)} ${figure.padStart(24)}   ${aim}`);
}

export function show({ median, min, max }: Times): string {
  const digits = median < 10 ? 2 : 0;
  return `${median.toFixed(digits)} ms (${min.toFixed(digits)}–${max.toFixed(digits)})`;
}
