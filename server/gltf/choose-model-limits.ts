/** What the machine has. */
interface Machine {
  readonly cores: number;
  readonly memoryBytes: number;
}

/** Settings; null is chosen by cores and memory. */
export interface ModelSettings {
  readonly threads: number | null;
  /** Memory of one thread's objects, MiB. */
  readonly memoryMib: number | null;
  /** Longest time for one file, s. */
  readonly seconds: number;
}

export interface ModelLimits {
  readonly threads: number;
  readonly heapMb: number;
  readonly timeoutMs: number;
}

/** A thread that holds a model of a few hundred megabytes for the validator needs about this much; more helps nothing. */
const MOST_HEAP_MIB = 4096;
/** With less, models of usual size are refused. */
const LEAST_HEAP_MIB = 512;
const MIB = 1024 * 1024;

/**
 * Chooses how many threads read models, and the limits of each file. Each thread may use a quarter of the memory, up to 4 GiB.
 * There is a thread for each core, from three, so that two long files leave one free, to four. A machine with less than 4 GiB
 * has two.
 */
export function chooseModelLimits({ cores, memoryBytes }: Machine, settings: ModelSettings): ModelLimits {
  const isSmall = memoryBytes < 4096 * MIB;
  const quarter = Math.floor(memoryBytes / 4 / MIB);
  return {
    threads: settings.threads ?? (isSmall ? 2 : Math.min(4, Math.max(3, cores))),
    heapMb: settings.memoryMib ?? Math.min(MOST_HEAP_MIB, Math.max(LEAST_HEAP_MIB, quarter)),
    timeoutMs: settings.seconds * 1000,
  };
}
