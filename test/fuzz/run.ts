import { fuzzUploads } from './fuzz-uploads.ts';

// The long form: `npm run fuzz -- --count 20000 --seed 1 --seconds 3600`. Prints a report as JSON, and exits with 1 if anything
// happened that must not.

/** Most memory of the process, MiB: three threads with a heap of 1 GiB each, and the pixels and arrays of their files beside it. */
const MOST_MIB = 4096;

const read = (name: string, fallback: number) => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const isQuiet = process.argv.includes('--quiet');

const report = await fuzzUploads({
  seed: read('seed', 1),
  count: read('count', 20_000),
  seconds: read('seconds', Number.POSITIVE_INFINITY),
  ...(!isQuiet && { tell: (done) => process.stderr.write(`\r${done} `) }),
});
console.log(JSON.stringify({ ...report, mostMib: MOST_MIB }, null, isQuiet ? 0 : 2));
process.exitCode = report.faults.length > 0 || report.peakMib > MOST_MIB ? 1 : 0;
