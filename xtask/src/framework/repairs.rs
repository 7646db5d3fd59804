//! The repairs, file by file. `docs/upstream.md` says why each is made.

use super::Repair;

/// Those of the window, `egui-baseview`.
pub(super) const WINDOW: &[Repair] = &[
    // Keys that the table leaves out: F1 and the like, signs, and letters with Shift. egui knows them by name.
    Repair {
        file: "src/translate.rs",
        search: "\
            _ => {
                return None;
            }
        },
        _ => {
            return None;
        }
",
        replace: "\
            _ => return Key::from_name(s),
        },
        K::Named(named) => return Key::from_name(&named.to_string()),
",
    },
];

/// Those of the system's window, `baseview`.
pub(super) const WINDOW_OF_SYSTEM: &[Repair] = &[
    // The first frame may be asked for before the server says that the window is mapped. Nobody heard the answer, and without
    // it no other frame was asked for: the window stayed empty.
    Repair {
        file: "src/platform/x11/xcb_window.rs",
        search: "\
        Ok(Self { window_id, connection, present_notify_event_id })
",
        replace: "\
        let window = Self { window_id, connection, present_notify_event_id };
        window.present_select_input()?;
        Ok(window)
",
    },
];

/// Those of the plugin formats, `nice-plug`.
pub(super) const PLUGIN: &[Repair] = &[
    // A task about the window runs on whatever thread it came to. The window may be in the making, or another thread's.
    Repair {
        file: "src/wrapper/vst3/inner.rs",
        search: "\
                if let Some(editor_window) = self.editor_window.borrow().as_ref() {
                    editor_window.get().handle.state_changed();
",
        replace: "\
                if let Ok(editor_window) = self.editor_window.try_borrow()
                    && let Some(editor_window) = editor_window.as_ref()
                    && let Ok(editor_window) = editor_window.try_get()
                {
                    editor_window.handle.state_changed();
",
    },
    Repair {
        file: "src/wrapper/vst3/inner.rs",
        search: "\
                if let Some(editor_window) = self.editor_window.borrow().as_ref() {
                    let param_id = &self.param_id_by_hash[&param_hash];
                    editor_window
                        .get()
",
        replace: "\
                if let Ok(editor_window) = self.editor_window.try_borrow()
                    && let Some(editor_window) = editor_window.as_ref()
                    && let Ok(editor_window) = editor_window.try_get()
                {
                    let param_id = &self.param_id_by_hash[&param_hash];
                    editor_window
",
    },
    Repair {
        file: "src/wrapper/vst3/inner.rs",
        search: "\
                if let Some(editor_window) = self.editor_window.borrow().as_ref() {
                    let editor_window = editor_window.get();
",
        replace: "\
                if let Ok(editor_window) = self.editor_window.try_borrow()
                    && let Some(editor_window) = editor_window.as_ref()
                    && let Ok(editor_window) = editor_window.try_get()
                {
",
    },
    // The window is made and dropped while no task looks whether it is there; a task looks for less than a microsecond.
    Repair {
        file: "src/wrapper/vst3/view.rs",
        search: "let mut window = inner.editor_window.borrow_mut();\n",
        replace: "\
        let Some(mut window) = (0..1000).find_map(|_| {
            let free = inner.editor_window.try_borrow_mut().ok();
            if free.is_none() {
                std::thread::sleep(std::time::Duration::from_millis(1));
            }
            free
        }) else {
            return kResultFalse;
        };
",
    },
    Repair {
        file: "src/wrapper/vst3/view.rs",
        search: "let mut editor_handle = inner.editor_window.borrow_mut();\n",
        replace: "\
        let Some(mut editor_handle) = (0..1000).find_map(|_| {
            let free = inner.editor_window.try_borrow_mut().ok();
            if free.is_none() {
                std::thread::sleep(std::time::Duration::from_millis(1));
            }
            free
        }) else {
            return kResultFalse;
        };
",
    },
    // The worker holds an instance while it runs a task of it. The instance waits, so that the worker is ended from
    // here and not from within itself.
    Repair {
        file: "src/wrapper/vst3/wrapper.rs",
        search: "crate::nice_debug_assert_eq!(Arc::strong_count(&self.inner), 1);\n",
        replace: "\
        for _ in 0..1000 {
            if Arc::strong_count(&self.inner) == 1 {
                break;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
",
    },
    // A destructor that panics aborts the host.
    Repair {
        file: "src/event_loop/background_thread.rs",
        search: "\
        // The thread is shut down and joined when the handle is dropped
        self.tasks_sender
            .send(Message::Shutdown)
            .expect(\"Failed while sending worker thread shutdown request\");
        self.join_handle
            .take()
            // Only possible if the WorkerThread got dropped twice, somehow?
            .expect(\"Missing Worker thread JoinHandle\")
            .join()
            .expect(\"Worker thread panicked\");
",
        replace: "\
        // The thread is shut down and joined when the handle is dropped. On the thread itself there is nothing to do:
        // it ends when the sender is gone.
        if let Some(join_handle) = self.join_handle.take()
            && join_handle.thread().id() != thread::current().id()
        {
            let _ = self.tasks_sender.send(Message::Shutdown);
            let _ = join_handle.join();
        }
",
    },
    // Other instances share the worker.
    Repair {
        file: "src/event_loop/background_thread.rs",
        search: "\
                    nice_trace!(
                        \"Received a new task but the executor is no longer alive, shutting down \\
                         worker\"
                    );
                    return;
",
        replace: "\
                    nice_trace!(\"Received a new task but the executor is no longer alive\");
",
    },
    // A host may give a list of no buses, and may give more outputs than inputs.
    Repair {
        file: "src/wrapper/vst3/wrapper.rs",
        search: "if aux_input_idx > data.numOutputs as usize {\n",
        replace: "if aux_input_idx >= data.numInputs as usize {\n",
    },
    Repair {
        file: "src/wrapper/vst3/wrapper.rs",
        search: "if aux_output_idx > data.numOutputs as usize {\n",
        replace: "if aux_output_idx >= data.numOutputs as usize {\n",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "if aux_input_idx > process.audio_inputs_count as usize {\n",
        replace: "if aux_input_idx >= process.audio_inputs_count as usize {\n",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "if aux_output_idx > process.audio_outputs_count as usize {\n",
        replace: "if aux_output_idx >= process.audio_outputs_count as usize {\n",
    },
    // What a hand changes in the window is sent before the notes of the block, as it comes at its first sample.
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
                // After processing the events we now know where/if the block should be split, and
                // we can start preparing audio processing
                let block_len = block_end - block_start;
",
        replace: "\
                if !process.out_events.is_null() && !wrapper.output_parameter_events.is_empty() {
                    unsafe { wrapper.handle_out_events(&*process.out_events, block_start) };
                }

                let block_len = block_end - block_start;
",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
                if !process.out_events.is_null() && !wrapper.output_parameter_events.is_empty() {
                    unsafe { wrapper.handle_out_events(&*process.out_events, block_start) };
                }

                // If our block ends at the end of the buffer then that means there are no more
",
        replace: "\
                // If our block ends at the end of the buffer then that means there are no more
",
    },
    // A program marks its session as changed where values are to be read again.
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
    StateChanged,
",
        replace: "\
    /// The plugin's state was loaded, and whether values of parameters are others now.
    StateChanged(bool),
",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "Task::StateChanged => {\n",
        replace: "Task::StateChanged(values_differ) => {\n",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "if let Some(host_params) = &*self.host_params.borrow() {\n",
        replace: "if values_differ && let Some(host_params) = &*self.host_params.borrow() {\n",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
    pub fn set_state_inner(&self, state: &mut PluginState) -> bool {
        // FIXME: This is obviously not realtime-safe",
        replace: "\
    pub fn set_state_inner(&self, state: &mut PluginState) -> bool {
        let values = || -> Vec<f32> {
            let value = |param: &ParamPtr| unsafe { param.unmodulated_normalized_value() };
            permit_alloc(|| self.param_by_hash.values().map(value).collect())
        };
        let before = values();
        // FIXME: This is obviously not realtime-safe",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "let task_posted = self.schedule_gui(Task::StateChanged);\n",
        replace: "let task_posted = self.schedule_gui(Task::StateChanged(values() != before));\n",
    },
    // A host that reads MIDI and not CLAP's own notes is sent notes as MIDI.
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
    clap_plugin_note_ports: clap_plugin_note_ports,

",
        replace: "\
    clap_plugin_note_ports: clap_plugin_note_ports,
    /// Whether the host reads MIDI and not CLAP's own notes.
    pub(super) midi_only: AtomicBool,

",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
            },
            host_params: AtomicRefCell::new(None),
",
        replace: "\
            },
            midi_only: AtomicBool::new(false),
            host_params: AtomicRefCell::new(None),
",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
                CLAP_EXT_VOICE_INFO,
            );
            *wrapper.host_thread_check.borrow_mut()",
        replace: "\
                CLAP_EXT_VOICE_INFO,
            );
            if let Some(note_ports) =
                query_host_extension::<clap_sys::ext::note_ports::clap_host_note_ports>(
                    &wrapper.host_callback,
                    CLAP_EXT_NOTE_PORTS,
                )
                && let Some(supported_dialects) = note_ports.supported_dialects
            {
                let dialects = supported_dialects(&*wrapper.host_callback);
                let notes = dialects & (CLAP_NOTE_DIALECT_CLAP | CLAP_NOTE_DIALECT_MIDI);
                let midi_only = notes == CLAP_NOTE_DIALECT_MIDI;
                wrapper.midi_only.store(midi_only, Ordering::Relaxed);
            }
            *wrapper.host_thread_check.borrow_mut()",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
        _plugin: *const clap_plugin,
        index: u32,
        is_input: bool,
        info: *mut clap_note_port_info,
    ) -> bool {
",
        replace: "\
        plugin: *const clap_plugin,
        index: u32,
        is_input: bool,
        info: *mut clap_note_port_info,
    ) -> bool {
        check_null_ptr!(false, plugin, unsafe { (*plugin).plugin_data }, info);
        let wrapper = unsafe { &*((*plugin).plugin_data as *const Self) };
        let midi_only = wrapper.midi_only.load(Ordering::Relaxed);
",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
                info.preferred_dialect = CLAP_NOTE_DIALECT_CLAP;
                strlcpy(&mut info.name, \"Note Input\");
",
        replace: "\
                info.preferred_dialect = if midi_only {
                    CLAP_NOTE_DIALECT_MIDI
                } else {
                    CLAP_NOTE_DIALECT_CLAP
                };
                strlcpy(&mut info.name, \"Note Input\");
",
    },
    Repair {
        file: "src/wrapper/clap/wrapper.rs",
        search: "\
                info.preferred_dialect = CLAP_NOTE_DIALECT_CLAP;
                strlcpy(&mut info.name, \"Note Output\");
",
        replace: "\
                info.preferred_dialect = if midi_only {
                    CLAP_NOTE_DIALECT_MIDI
                } else {
                    CLAP_NOTE_DIALECT_CLAP
                };
                strlcpy(&mut info.name, \"Note Output\");
",
    },
    Repair {
        file: "src/wrapper/clap/context.rs",
        search: "\
        let push_successful = match &event {
            NoteEvent::NoteOn {
                timing: _,
",
        replace: "\
        let midi_only = self.wrapper.midi_only.load(std::sync::atomic::Ordering::Relaxed);
        let push_successful = match &event {
            note @ (NoteEvent::NoteOn { .. }
            | NoteEvent::NoteOff { .. }
            | NoteEvent::PolyPressure { .. })
                if P::MIDI_OUTPUT >= MidiConfig::Basic && midi_only =>
            {
                let Some(MidiResult::Basic(data)) = note.as_midi() else {
                    unreachable!(\"notes are MIDI\");
                };
                let event = clap_event_midi {
                    header: clap_event_header {
                        size: mem::size_of::<clap_event_midi>() as u32,
                        time,
                        space_id: CLAP_CORE_EVENT_SPACE_ID,
                        type_: CLAP_EVENT_MIDI,
                        flags: 0,
                    },
                    port_index: 0,
                    data,
                };

                unsafe {
                    clap_call! { self.host_out_events=>try_push(self.host_out_events, &event.header) }
                }
            }
            NoteEvent::NoteOn {
                timing: _,
",
    },
];
