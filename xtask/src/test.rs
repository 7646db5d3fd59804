use anyhow::Result;

#[derive(clap::Args)]
pub(crate) struct Args {}

pub(crate) fn run(_args: &Args) -> Result<()> {
    anyhow::bail!("not built yet")
}
