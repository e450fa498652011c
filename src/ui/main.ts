import '@fontsource-variable/source-sans-3';
import './theme/tokens.css';
import './theme/base.css';
import { mount } from 'svelte';
import App from './app.svelte';
import { BenchEngine } from '../engine/bench-engine.ts';
import { keepApp } from './offline/register.ts';

const target = document.getElementById('app');
// The app opens where it was left, or with a choice; ?demo opens the demo song, once: what is done with it is kept like any work.
const address = new URL(location.href);
const opens = address.searchParams.has('demo') ? 'demo-audio/session.json' : null;
address.searchParams.delete('demo');
history.replaceState(null, '', address);
if (target) mount(App, { target, props: { engine: new BenchEngine(), opens, keeps: true } });
keepApp();
