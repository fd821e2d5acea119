import { expect } from 'vitest';
import type { TestService } from './start-service.ts';

/** Waits until a job has ended, and hands it over. */
export async function waitForJob(service: TestService, id: string) {
  for (;;) {
    const { status, body } = await service.call('GET', `/api/jobs/${id}`);
    expect(status).toBe(200);
    if (body.state !== 'queued' && body.state !== 'running') return body;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}
