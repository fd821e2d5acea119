import type { MappingPlan } from '../../server/core/delivery/mapping-plan.ts';
import type { ResolvedFinish } from '../../server/core/finish/resolve-finish.ts';

interface Order {
  readonly path: string;
  readonly targetPath: string;
  readonly plan: MappingPlan;
  readonly finishes: readonly [string, ResolvedFinish][];
}

/** Writes one delivery and tells by how many megabytes the peak of resident memory rose above the idle process. */
process.once('message', async ({ path, targetPath, plan, finishes }: Order) => {
  const idle = process.memoryUsage().rss;
  let peak = idle;
  const timer = setInterval(() => {
    peak = Math.max(peak, process.memoryUsage().rss);
  }, 2);
  // the libraries of the writing side are loaded on first need, and count
  const { writeVariants } = await import('../../server/gltf/write/write-variants.ts');
  await writeVariants({
    sourcePath: path,
    targetPath,
    images: [],
    plan,
    finishes: new Map(finishes),
    readMap: () => Promise.reject(new Error('no maps')),
  });
  clearInterval(timer);
  const megabytes = (Math.max(peak, process.memoryUsage().rss) - idle) / 1024 / 1024;
  process.send!(megabytes, () => process.exit(0));
});
