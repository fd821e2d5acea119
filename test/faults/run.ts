import { runKills } from './kill-service.ts';

// `npm run faults -- [rounds] [seed]`: ends a service that often in the middle of actions, 200 times by default, and prints
// what the next start found. Fails when an answer is neither as before the action nor as after it, or when data is damaged.

const [rounds = 200, seed = Date.now() % 1_000_000] = process.argv.slice(2).map(Number);
console.log(`${rounds} rounds, seed ${seed}`);
const { outcomes, faults } = await runKills({ rounds, seed, log: console.log });
console.table(outcomes);
for (const fault of faults) console.log(fault);
console.log(`${faults.length} faults`);
// the shared threads of the tests stay open
process.exit(faults.length > 0 ? 1 : 0);
