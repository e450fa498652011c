import fc from 'fast-check';
import { isSoaking } from './soak.ts';

// Properties draw the same cases in every `npm test`, so that it does not fail by chance; `npm run soak` draws others each time.
if (!isSoaking) fc.configureGlobal({ seed: 20_251 });
