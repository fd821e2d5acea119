// Runs everything CI runs: format and lint, types, tests; closes with one line of counts. Plain script.
import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const report = join(root, '.build', 'test-report.json');
const checksOnly = process.argv.includes('--checks-only');
const bin = (name) => join(root, 'node_modules', '.bin', name);

let passed = 0;
let failed = 0;

// at the same time: each keeps a core busy for some seconds
const checks = await Promise.all([
  check('format and lint', bin('biome'), ['check', '--config-path=.biome.json', '--error-on-warnings', '.']),
  check('types', bin('tsc'), ['--noEmit']),
]);
for (const { title, status, output } of checks) {
  if (status === 0) passed++;
  else failed++;
  process.stdout.write(output);
  console.log(`${title}: ${status === 0 ? 'passed' : 'FAILED'}`);
}
if (!checksOnly) runTests();
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 ? 1 : 0;

/** Runs a command to its end and keeps what it prints. */
function check(title, command, args) {
  return new Promise((resolve) => {
    const child = spawn(command, args, { cwd: root, stdio: ['ignore', 'pipe', 'pipe'] });
    let output = '';
    for (const stream of [child.stdout, child.stderr]) stream.on('data', (text) => (output += text));
    child.on('error', (error) => resolve({ title, status: 1, output: `${error.message}\n` }));
    child.on('close', (status) => resolve({ title, status, output }));
  });
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
