//! The subcommands, and which module performs each.

use clap::{Parser, Subcommand};

use crate::{
    add, ask, bring_in, clones, crosses, crossing, demo, feed, flowers, handed, help,
    house::{Everywhere, House},
    keepers, labels, left_over, list, log, naming, page, pests, phones, places, potting,
    problem::Result,
    readings, safety, said_by_others, serve, today, undo,
};

/// A dated journal of living plants goes in; answers come out
#[derive(Debug, Parser)]
#[command(name = "umbel", version, disable_help_subcommand = true)]
pub struct Cli {
    #[command(flatten)]
    every: Everywhere,
    #[command(subcommand)]
    command: Option<Command>,
}

/// What can be done.
#[derive(Debug, Subcommand)]
enum Command {
    Open(serve::OpenArgs),
    Phones(phones::PhonesArgs),
    Import(bring_in::ImportArgs),
    LeftOver(left_over::LeftOverArgs),
    List(list::ListArgs),
    Find(list::FindArgs),
    Show(page::ShowArgs),
    Ask(ask::AskArgs),
    Kin(ask::KinArgs),
    Log(log::LogArgs),
    Photo(handed::PhotoArgs),
    Add(Box<add::AddArgs>),
    Name(naming::NameArgs),
    Names(naming::NamesArgs),
    Parents(clones::ParentsArgs),
    Join(clones::JoinArgs),
    Split(clones::SplitArgs),
    Tag(clones::TagArgs),
    Suspect(clones::SuspectArgs),
    Wish(clones::WishArgs),
    Growth(today::GrowthArgs),
    Today(today::TodayArgs),
    Predictions(today::PredictionsArgs),
    Statement(said_by_others::StatementArgs),
    Question(said_by_others::QuestionArgs),
    Keepers(keepers::KeepersArgs),
    Places(places::PlacesArgs),
    Readings(readings::ReadingsArgs),
    Pests(pests::PestsArgs),
    Feed(feed::FeedArgs),
    Potting(potting::PottingArgs),
    Crosses(crosses::CrossesArgs),
    Crossing(crossing::CrossingArgs),
    Flowers(flowers::FlowersArgs),
    Pollinate(crosses::PollinateArgs),
    Sow(crosses::SowArgs),
    PrickOut(crosses::PrickOutArgs),
    Undo(undo::UndoArgs),
    History(undo::HistoryArgs),
    Labels(labels::LabelsArgs),
    Backup(safety::BackupArgs),
    Restore(safety::RestoreArgs),
    Verify(safety::VerifyArgs),
    Doctor(safety::DoctorArgs),
    Export(safety::ExportArgs),
    ReadExport(safety::ReadExportArgs),
    Demo(demo::DemoArgs),
    Calc(calc::CalcArgs),
    Completions(help::CompletionsArgs),
}

/// Performs what was asked for.
pub fn perform(cli: Cli) -> Result {
    let house = House::new(&cli.every);
    let Some(command) = &cli.command else {
        let usual = serve::OpenArgs { port: serve::PORT, ..serve::OpenArgs::default() };
        return serve::run(&house, &usual);
    };
    match command {
        Command::Open(a) => serve::run(&house, a),
        Command::Phones(a) => phones::run(&house, a),
        Command::Labels(a) => labels::run(&house, a),
        Command::Import(a) => bring_in::run(&house, a),
        Command::LeftOver(a) => left_over::run(&house, a),
        Command::List(a) => list::list(&house, a),
        Command::Find(a) => list::find(&house, a),
        Command::Show(a) => page::run(&house, a),
        Command::Ask(a) => ask::ask(&house, a),
        Command::Kin(a) => ask::kin(&house, a),
        Command::Log(a) => log::run(&house, a),
        Command::Photo(a) => handed::photo(&house, a),
        Command::Add(a) => add::run(&house, a),
        Command::Name(a) => naming::name(&house, a),
        Command::Names(a) => naming::names(&house, a),
        Command::Parents(a) => clones::parents(&house, a),
        Command::Join(a) => clones::join(&house, a),
        Command::Split(a) => clones::split(&house, a),
        Command::Tag(a) => clones::tag(&house, a),
        Command::Suspect(a) => clones::suspect(&house, a),
        Command::Wish(a) => clones::wish(&house, a),
        Command::Growth(a) => today::growth(&house, a),
        Command::Today(a) => today::today(&house, a),
        Command::Predictions(a) => today::past(&house, a),
        Command::Statement(a) => said_by_others::statement(&house, a),
        Command::Question(a) => said_by_others::question(&house, a),
        Command::Keepers(a) => keepers::run(&house, a),
        Command::Readings(a) => readings::run(&house, a),
        Command::Places(a) => places::run(&house, a),
        Command::Pests(a) => pests::run(&house, a),
        Command::Feed(a) => feed::run(&house, a),
        Command::Potting(a) => potting::run(&house, a),
        Command::Crosses(a) => crosses::crosses(&house, a),
        Command::Crossing(a) => crossing::run(&house, a),
        Command::Flowers(a) => flowers::run(&house, a),
        Command::Pollinate(a) => crosses::pollinate(&house, a),
        Command::Sow(a) => crosses::sow(&house, a),
        Command::PrickOut(a) => crosses::prick_out(&house, a),
        Command::Undo(a) => undo::undo(&house, a),
        Command::History(a) => undo::history(&house, a),
        Command::Backup(a) => safety::backup(&house, a),
        Command::Restore(a) => safety::restore(&house, a),
        Command::Verify(a) => safety::verify(&house, a),
        Command::Doctor(a) => safety::doctor(&house, a),
        Command::Export(a) => safety::export(&house, a),
        Command::ReadExport(a) => safety::read_export(&house, a),
        Command::Demo(a) => demo::run(&house, a),
        Command::Calc(a) => house.out.found(&calc::run(a)?),
        Command::Completions(a) => help::completions(a),
    }
}
