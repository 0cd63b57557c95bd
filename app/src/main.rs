//! A thin shell around the library.

fn main() {
    env_logger::Builder::from_env(env_logger::Env::default().default_filter_or("error")).init();
    std::process::exit(gaugerod::commands::run());
}
