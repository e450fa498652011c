const CHANNEL = 'tributary sessions';
/** Time after which a holder that has not released the session counts as not responding, ms. */
const PATIENCE_MS = 1500;

const lockOf = (id: string): string => `tributary session ${id}`;

/** The right of this page to write a session. */
export interface Claim {
  release(): void;
}

interface Claiming {
  readonly id: string;
  /** Called when another page asks for the session: pending changes must be written before it resolves. */
  readonly onAsked: () => Promise<void>;
  /** Called when another page has taken the session. */
  readonly onLost: () => void;
}

/** Takes the lock (Web Locks, W3C). null: another page has it, and `options` do not wait. */
const locked = (id: string, options: LockOptions, onStolen: () => void): Promise<(() => void) | null> =>
  new Promise((resolve, reject) => {
    let isHeld = false;
    const hold = (lock: Lock | null): Promise<void> | undefined => {
      isHeld = lock !== null;
      if (!lock) return void resolve(null);
      return new Promise((release) => resolve(release));
    };
    navigator.locks.request(lockOf(id), options, hold).catch((error: Error) => {
      if (isHeld) onStolen();
      else reject(error);
    });
  });

const held = ({ id, onAsked, onLost }: Claiming, release: () => void, channel: BroadcastChannel): Claim => {
  const end = (): void => {
    channel.close();
    release();
  };
  channel.onmessage = async ({ data }: MessageEvent<{ readonly asksFor: string }>) => {
    if (data.asksFor !== id) return;
    await onAsked();
    end();
    onLost();
  };
  return { release: end };
};

/** Claims a session for this page. null: another page has it. */
export const claim = async (claiming: Claiming): Promise<Claim | null> => {
  const channel = new BroadcastChannel(CHANNEL);
  const stolen = (): void => {
    channel.close();
    claiming.onLost();
  };
  const release = await locked(claiming.id, { ifAvailable: true }, stolen);
  if (release) return held(claiming, release, channel);
  channel.close();
  return null;
};

/** The same where another page has it: that page writes pending changes and releases it; if it does not respond, its claim is taken. */
export const takeOver = async (claiming: Claiming): Promise<Claim> => {
  const channel = new BroadcastChannel(CHANNEL);
  const stolen = (): void => {
    channel.close();
    claiming.onLost();
  };
  channel.postMessage({ asksFor: claiming.id });
  const waiting = locked(claiming.id, { signal: AbortSignal.timeout(PATIENCE_MS) }, stolen);
  const release = await waiting.catch(() => locked(claiming.id, { steal: true }, stolen));
  return held(claiming, release!, channel);
};

/** Ids of the sessions that are open in some page. */
export const claimedSessions = async (): Promise<ReadonlySet<string>> => {
  const { held: locks = [] } = await navigator.locks.query();
  const start = lockOf('');
  return new Set(locks.flatMap(({ name }) => (name?.startsWith(start) ? [name.slice(start.length)] : [])));
};
