import { createHash, randomUUID } from 'node:crypto';
import { once } from 'node:events';
import { createServer, type IncomingMessage } from 'node:http';
import type { AddressInfo } from 'node:net';
import { exportJWK, generateKeyPair, SignJWT } from 'jose';

export const CLIENT = { id: 'dyeworks', secret: 'the-secret-of-the-client' } as const;

/** What the next ID token says; `nonce` and `key` replace the right ones. */
export interface Claims {
  readonly sub: string;
  readonly email?: string;
  readonly email_verified?: boolean;
  readonly name?: string;
  readonly nonce?: string;
  readonly audience?: string;
  readonly signedByAnother?: boolean;
}

/** A small issuer of OpenID Connect: it signs in, without asking, whoever `claims` names. */
export async function openProvider() {
  const keys = await generateKeyPair('RS256');
  const others = await generateKeyPair('RS256');
  const jwk = { ...(await exportJWK(keys.publicKey)), kid: 'one', alg: 'RS256', use: 'sig' };
  const codes = new Map<string, { readonly challenge: string; readonly nonce: string; readonly redirect: string }>();
  const provider = { issuer: '', claims: { sub: 'none' } as Claims, close: () => {} };

  const server = createServer(async (request, response) => {
    const url = new URL(request.url!, provider.issuer);
    const json = (body: unknown, status = 200) => {
      response.writeHead(status, { 'content-type': 'application/json' }).end(JSON.stringify(body));
    };
    switch (url.pathname) {
      case '/.well-known/openid-configuration':
        return json({
          issuer: provider.issuer,
          authorization_endpoint: `${provider.issuer}/authorize`,
          token_endpoint: `${provider.issuer}/token`,
          jwks_uri: `${provider.issuer}/keys`,
          response_types_supported: ['code'],
          subject_types_supported: ['public'],
          id_token_signing_alg_values_supported: ['RS256'],
        });
      case '/keys':
        return json({ keys: [jwk] });
      case '/authorize': {
        const get = (name: string) => url.searchParams.get(name) ?? '';
        const code = randomUUID();
        if (get('code_challenge_method') !== 'S256' || get('client_id') !== CLIENT.id) return json({}, 400);
        codes.set(code, { challenge: get('code_challenge'), nonce: get('nonce'), redirect: get('redirect_uri') });
        const back = new URL(get('redirect_uri'));
        back.searchParams.set('code', code);
        back.searchParams.set('state', get('state'));
        response.writeHead(302, { location: back.href }).end();
        return;
      }
      case '/token': {
        const form = new URLSearchParams(await readBody(request));
        const code = codes.get(form.get('code') ?? '');
        codes.delete(form.get('code') ?? '');
        const challenge = createHash('sha256')
          .update(form.get('code_verifier') ?? '')
          .digest('base64url');
        const isRight =
          code?.challenge === challenge &&
          code.redirect === form.get('redirect_uri') &&
          form.get('client_id') === CLIENT.id &&
          form.get('client_secret') === CLIENT.secret;
        if (!isRight) return json({ error: 'invalid_grant' }, 400);
        const { nonce = code.nonce, audience = CLIENT.id, signedByAnother, sub, ...claims } = provider.claims;
        const token = await new SignJWT({ ...claims, nonce })
          .setProtectedHeader({ alg: 'RS256', kid: 'one' })
          .setIssuer(provider.issuer)
          .setAudience(audience)
          .setSubject(sub)
          .setIssuedAt()
          .setExpirationTime('5m')
          .sign(signedByAnother ? others.privateKey : keys.privateKey);
        return json({ access_token: randomUUID(), token_type: 'Bearer', id_token: token });
      }
      default:
        return json({}, 404);
    }
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  provider.issuer = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  provider.close = () => server.close();
  return provider;
}

async function readBody(request: IncomingMessage): Promise<string> {
  let body = '';
  for await (const chunk of request) body += chunk;
  return body;
}
