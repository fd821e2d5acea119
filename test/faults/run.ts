import { ACTIONS, runKills } from './kill-service.ts';

// `npm run faults -- [times] [seed] [actions]`: ends a service in the middle of each action, at every boundary of its steps and
// at so many random moments, 200 by default, and prints what the next start found. Fails when an answer is neither as before
// the action nor as after it, or when data is damaged. `actions` are names with commas between; all by default.

const [times = '200', start = String(Date.now() % 1_000_000), names] = process.argv.slice(2);
const [atRandom, seed] = [Number(times), Number(start)];
const actions = names?.split(',') ?? Object.keys(ACTIONS);
console.log(`each of ${actions.length} actions ends at every step and at ${atRandom} random moments, seed ${seed}`);
const { outcomes, faults } = await runKills({ atRandom, atSteps: 'each', seed, actions, log: console.log });
console.table(outcomes);
for (const fault of faults) console.log(fault);
console.log(`${faults.length} faults`);
// the shared threads of the tests stay open
process.exit(faults.length > 0 ? 1 : 0);
