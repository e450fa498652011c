import '@fontsource-variable/source-sans-3';
import './theme/tokens.css';
import './theme/base.css';
import { mount } from 'svelte';
import App from './app.svelte';
import { BenchEngine } from './engine/bench-engine.ts';

const target = document.getElementById('app');
// The demo song is open at the start; ?empty asks for an empty bench.
const opens = new URLSearchParams(location.search).has('empty') ? null : 'demo-audio/session.json';
if (target) mount(App, { target, props: { engine: new BenchEngine(), opens } });
