import { expect } from 'vitest';
import type { JobEvent } from '../../server/http/contracts/job.ts';
import type { TestService } from './start-service.ts';

/** Waits until a job has ended, and returns it. */
export async function waitForJob(service: TestService, id: string) {
  for (;;) {
    const { status, body } = await service.call('GET', `/api/jobs/${id}`);
    expect(status).toBe(200);
    if (body.state !== 'queued' && body.state !== 'running') return body;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** Events of a job to its end, as received. */
export async function readEvents(service: TestService, id: string, query = '', headers: Record<string, string> = {}) {
  const text = await (await fetch(`${service.url}/api/jobs/${id}/events${query}`, { headers })).text();
  const events = [...text.matchAll(/^id: (\d+)\nevent: (\w+)\ndata: (.*)$/gm)].map(([, told, event, data]) => ({
    told: Number(told),
    event,
    data: JSON.parse(data!) as JobEvent,
  }));
  const answer = { method: 'GET', path: `/api/jobs/${id}/events`, status: 200, mediaType: 'text/event-stream' };
  for (const { data } of events) await service.checkAnswer({ ...answer, body: data });
  return events;
}
