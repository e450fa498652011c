import '@fontsource-variable/source-sans-3';
import './theme/tokens.css';
import './theme/base.css';
import { mount } from 'svelte';
import App from './app.svelte';
import { BenchEngine } from '../engine/bench-engine.ts';

const target = document.getElementById('app');
// The app starts with a choice; ?demo opens the demo song at once.
const opens = new URLSearchParams(location.search).has('demo') ? 'demo-audio/session.json' : null;
if (target) mount(App, { target, props: { engine: new BenchEngine(), opens } });
