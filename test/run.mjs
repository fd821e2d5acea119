// Runs everything CI runs: format and lint, types, tests; closes with one line of counts. Plain script.
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const report = join(root, '.build', 'test-report.json');
const checksOnly = process.argv.includes('--checks-only');
const bin = (name) => join(root, 'node_modules', '.bin', name);

let passed = 0;
let failed = 0;

step('format and lint', bin('biome'), ['check', '--config-path=.biome.json', '--error-on-warnings', '.']);
step('types', bin('tsc'), ['--noEmit']);
if (!checksOnly) runTests();
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 ? 1 : 0;

function step(title, command, args) {
  const { status } = spawnSync(command, args, { cwd: root, stdio: 'inherit' });
  if (status === 0) passed++;
  else failed++;
  console.log(`${title}: ${status === 0 ? 'passed' : 'FAILED'}`);
}

function runTests() {
  mkdirSync(dirname(report), { recursive: true });
  rmSync(report, { force: true });
  const args = [
    'run',
    '--config',
    'test/vitest.config.ts',
    '--reporter=default',
    '--reporter=json',
    `--outputFile=${report}`,
  ];
  const { status } = spawnSync(bin('vitest'), [...args, ...process.argv.slice(2)], { cwd: root, stdio: 'inherit' });
  try {
    const counts = JSON.parse(readFileSync(report, 'utf8'));
    passed += counts.numPassedTests;
    failed += counts.numFailedTests;
    // a file that does not load counts no test, and is a failure all the same
    if (status !== 0 && counts.numFailedTests === 0) failed++;
    if (counts.numTotalTests === 0) failed++;
  } catch {
    failed++;
  }
}
