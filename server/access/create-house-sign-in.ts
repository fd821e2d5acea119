import * as openId from 'openid-client';
import type { HouseConfig } from '../config.ts';
import type { HouseIdentity, HouseSignIn } from '../core/ports/access.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';

/** Time for an answer of the issuer. */
const TIMEOUT_S = 10;

/**
 * OpenID Connect Core 1.0 §3.1, the code flow, with PKCE (RFC 7636), state and nonce. The signature of the ID token is checked
 * against the keys of the issuer, also where TLS alone would do.
 */
export function createHouseSignIn({ issuer, clientId, clientSecret, name, role }: HouseConfig): HouseSignIn {
  let discovered: Promise<openId.Configuration> | undefined;

  function discover(): Promise<openId.Configuration> {
    const authentication = clientSecret === null ? openId.None() : openId.ClientSecretPost(clientSecret);
    // the configuration allows http on the loopback only
    const execute = issuer.protocol === 'http:' ? [openId.allowInsecureRequests] : [];
    discovered ??= openId
      .discovery(issuer, clientId, undefined, authentication, { execute, timeout: TIMEOUT_S })
      .then((configuration) => {
        openId.enableNonRepudiationChecks(configuration);
        return configuration;
      })
      .catch((cause: unknown) => {
        discovered = undefined;
        throw new Problem('house-unreachable', { detail: ACCESS_PROBLEMS['house-unreachable'], cause });
      });
    return discovered;
  }

  return {
    name,
    role,

    async begin(redirectUri) {
      const configuration = await discover();
      const pending = {
        state: openId.randomState(),
        nonce: openId.randomNonce(),
        verifier: openId.randomPKCECodeVerifier(),
      };
      const url = openId.buildAuthorizationUrl(configuration, {
        redirect_uri: redirectUri,
        scope: 'openid email profile',
        code_challenge: await openId.calculatePKCECodeChallenge(pending.verifier),
        code_challenge_method: 'S256',
        state: pending.state,
        nonce: pending.nonce,
      });
      return { ...pending, url: url.href };
    },

    async finish(callback, { state, nonce, verifier }): Promise<HouseIdentity> {
      const configuration = await discover();
      const checks = { expectedState: state, expectedNonce: nonce, pkceCodeVerifier: verifier, idTokenExpected: true };
      let claims: openId.IDToken | undefined;
      try {
        claims = (await openId.authorizationCodeGrant(configuration, callback, checks)).claims();
      } catch (cause) {
        throw new Problem('sign-in-refused', { detail: ACCESS_PROBLEMS['sign-in-refused'].answer, cause });
      }
      const { iss, sub, email, email_verified, name: given } = claims!;
      return {
        house: `${iss} ${sub}`,
        mail: typeof email === 'string' && email_verified === true ? email : null,
        name: typeof given === 'string' && given.trim() !== '' ? given : null,
      };
    },
  };
}
